"""The picture of the hand's model: two necks to scale with four fingers on them, and the bands of reach."""

from __future__ import annotations

from tabterm.hand.bands import BANDS, TOLERANCE
from tabterm.instrument import PRESETS, fret_distance_mm

SCALE, LEFT = 3.6, 70.0
"""Pixels to a millimetre, and where the nut is."""

FINGERS = {"mandolin": (2, 4, 5, 7), "tenor-banjo": (2, 3, 4, 5)}
"""Frets of the four fingers in a frame at fret 2: two frets a finger, and one."""

BAND_COLOURS = (("natural", "#5f8f4e"), ("comfortable", "#9db35a"), ("hard", "#d69a3c"), ("extreme", "#c2563f"))
STYLE = """
  text { font: 13px sans-serif; fill: #5a5a5a; } .strong { font-weight: bold; }
  .wire { stroke: #8a8a8a; stroke-width: 1.5; } .nut { stroke: #5a5a5a; stroke-width: 5; }
  .string { stroke: #b0b0b0; stroke-width: 1; }
  .finger { fill: #3f6fa8; } .number { fill: #ffffff; font-weight: bold; }
  @media (prefers-color-scheme: dark) {
    text { fill: #c8c8c8; } .nut { stroke: #c8c8c8; } .number { fill: #ffffff; }
  }
"""


def picture() -> str:
    """The SVG."""
    parts: list[str] = []
    y = _neck(parts, "mandolin", 40.0)
    y = _neck(parts, "tenor-banjo", y + 44.0)
    y = _bands(parts, y + 52.0)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 700 {y:.0f}" role="img">\n'
        "<title>Four fingers on two necks, and how far two fingers reach</title>\n"
        "<desc>A mandolin's neck with fingers 1 to 4 on frets 2, 4, 5 and 7, a tenor banjo's with them on frets 2 "
        "to 5, both to one scale; and for each pair of fingers the natural, comfortable, hard and extreme reach "
        "in millimetres.</desc>\n"
        f"<style>{STYLE}</style>\n"
    )
    return head + "\n".join(parts) + "\n</svg>\n"


def _text(x: float, y: float, words: str, *, anchor: str = "start", kind: str = "") -> str:
    kind = f' class="{kind}"' if kind else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{kind}>{words}</text>'


def _neck(parts: list[str], name: str, y: float) -> float:
    """A neck up to fret 8, with a frame of fingers; the y below it."""
    instrument, frets = PRESETS[name], FINGERS[name]
    length = instrument.scale_length_mm
    parts.append(_text(LEFT, y - 14, f"{instrument.name}, {length:.0f} mm: a frame at fret 2", kind="strong"))
    width = min(fret_distance_mm(length, 8) * SCALE, 600.0)
    for line in range(4):
        at = y + 12 + 14 * line
        parts.append(f'<line class="string" x1="{LEFT}" y1="{at}" x2="{LEFT + width:.1f}" y2="{at}"/>')
    for fret in range(9):
        x = LEFT + fret_distance_mm(length, fret) * SCALE
        if x > LEFT + 600:
            break
        kind = "wire" if fret else "nut"
        parts.append(f'<line class="{kind}" x1="{x:.1f}" y1="{y}" x2="{x:.1f}" y2="{y + 66}"/>')
        if fret:
            parts.append(_text(x, y + 82, str(fret), anchor="middle"))
    for finger, fret in enumerate(frets, 1):
        x = LEFT + fret_distance_mm(length, fret) * SCALE - 11
        at = y + 12 + 14 * (4 - finger)
        parts.append(f'<circle class="finger" cx="{x:.1f}" cy="{at}" r="10"/>')
        parts.append(_text(x, at + 4.5, str(finger), anchor="middle", kind="number"))
    reach = fret_distance_mm(length, frets[-1]) - fret_distance_mm(length, frets[0])
    easy = BANDS[1, 4].comfortable_mm
    limits = f"comfortable up to {easy:.0f}, a finding from {TOLERANCE * easy:.0f}"
    parts.append(_text(LEFT, y + 102, f"index to little finger: {reach:.0f} mm ({limits})"))
    return y + 110


def _bands(parts: list[str], y: float) -> float:
    """A bar for each pair of fingers; the y below them."""
    parts.append(
        _text(LEFT, y - 14, "How far two fingers reach along the neck, in mm (reference hand)", kind="strong")
    )
    for row, (pair, band) in enumerate(sorted(BANDS.items())):
        top, before = y + 24 * row, 0.0
        parts.append(_text(LEFT - 10, top + 13, f"{pair[0]}-{pair[1]}", anchor="end"))
        for name, colour in BAND_COLOURS:
            end = getattr(band, f"{name}_mm")
            x, width = LEFT + before * SCALE, (end - before) * SCALE
            parts.append(f'<rect x="{x:.1f}" y="{top}" width="{width:.1f}" height="17" fill="{colour}"/>')
            before = end
        parts.append(_text(LEFT + before * SCALE + 6, top + 13, f"{band.extreme_mm:g}"))
    bottom = y + 24 * len(BANDS) + 18
    x = LEFT
    for name, colour in BAND_COLOURS:
        parts.append(f'<rect x="{x}" y="{bottom - 12}" width="14" height="14" fill="{colour}"/>')
        parts.append(_text(x + 20, bottom, name))
        x += 120
    return bottom + 14
