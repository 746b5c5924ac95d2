"""What stands at the beginning of a line and where it changes: clef, key, metre; and the bar lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.formats.musicxml.signatures import NAMES, STEPS
from tabterm.score.kinds import Barline
from tabterm.sheet import fonts
from tabterm.sheet.extents import ACCIDENTALS
from tabterm.sheet.ink import Glyph, Group, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.model import Measure
    from tabterm.sheet.panel import Panel, Spot
    from tabterm.sheet.reading import Clef

SHARPS = {"F": 8, "C": 5, "G": 9, "D": 6, "A": 3, "E": 7, "B": 4}
FLATS = {"B": 4, "E": 7, "A": 3, "D": 6, "G": 2, "C": 5, "F": 1}
"""Steps of the signs of a key over the lowest line in the treble clef: Gould 2011, from memory."""

THIN, THICK, APART = 0.16, 0.5, 0.4
"""Thickness of bar lines and the room between them (Bravura 1.392, `engravingDefaults`)."""

REPEAT_ROOM = 2.0
GAP = 0.9
"""Room behind a clef, a key and a metre; tuned here."""


def key_signs(key: Key, clef: Clef, before: Key | None = None) -> list[tuple[str, int]]:
    """Sign and step of each accidental of a key, after naturals for those of the key before that are gone."""
    shift = -2 if clef.glyph == "fClef" else 0
    alters = _alters(key)
    signs = []
    if before is not None:
        old = _alters(before)
        for step, alter in _ordered(old):
            if alter and not alters[step]:
                signs.append(("natural", _height(step, alter) + shift))
    return signs + [(NAMES[alter], _height(step, alter) + shift) for step, alter in _ordered(alters) if alter]


def _alters(key: Key) -> dict[str, int]:
    return {step: max(-2, min(2, (key.fifths - at + 6) // 7)) for at, step in enumerate(STEPS)}


def _ordered(alters: dict[str, int]) -> list[tuple[str, int]]:
    flat = any(alter < 0 for alter in alters.values())
    return list(alters.items())[::-1] if flat else list(alters.items())


def _height(step: str, alter: int) -> int:
    return SHARPS[step] if alter > 0 else FLATS[step]


def key_width(signs: list[tuple[str, int]]) -> float:
    """Room of the signs of a key."""
    return sum(fonts.sign_box(ACCIDENTALS[name])[2] + 0.12 for name, _ in signs) + (GAP if signs else 0.0)


def put_key(panel: Panel, signs: list[tuple[str, int]], x: float, spot: Spot) -> None:
    """Draw a key signature."""
    for name, step in signs:
        panel.put("key", Glyph(ACCIDENTALS[name], x, (8 - step) / 2), spot, name)
        x += fonts.sign_box(ACCIDENTALS[name])[2] + 0.12


def _metre_lines(metre: Metre) -> tuple[list[str], list[str]]:
    upper = "+".join(map(str, metre.groups)) if metre.groups else str(metre.count)
    return [_digit(sign) for sign in upper], [_digit(sign) for sign in str(metre.unit)]


def _digit(sign: str) -> str:
    return "timeSigPlus" if sign == "+" else f"timeSig{sign}"


SIGNS = {"C": "timeSigCommon", "C|": "timeSigCutCommon"}


def metre_width(metre: Metre) -> float:
    """Room of a time signature."""
    if metre.sign:
        return fonts.sign_width(SIGNS[metre.sign]) + GAP
    return max(sum(map(fonts.sign_width, line)) for line in _metre_lines(metre)) + GAP


def put_metre(panel: Panel, metre: Metre, x: float, spot: Spot, middle: float = 2.0) -> None:
    """Draw a time signature around a middle height."""
    if metre.sign:
        panel.put("metre", Glyph(SIGNS[metre.sign], x, middle), spot, str(metre))
        return
    width, parts = metre_width(metre) - GAP, list[Glyph]()
    for line, y in zip(_metre_lines(metre), (middle - 1.05, middle + 1.05), strict=True):
        at = x + (width - sum(map(fonts.sign_width, line))) / 2
        for name in line:
            parts.append(Glyph(name, at, y))
            at += fonts.sign_width(name)
    panel.put("metre", Group(tuple(parts)), spot, str(metre))


def closing_width(measure: Measure) -> float:
    """Room of what stands at a measure's end beside a plain bar line."""
    return REPEAT_ROOM if measure.repeat_times else 0.0


def put_bar(panel: Panel, x: float, measure: Measure, spot: Spot, span: tuple[float, float]) -> None:
    """Draw the line at a measure's end, its right side at x; dots in the middle where it repeats."""
    for at, thickness in _closing(measure):
        line = ((x - at - thickness / 2, span[0]), (x - at - thickness / 2, span[1]))
        panel.put("barline", Rule((line,), thickness), spot, measure.barline.value)
    if measure.repeat_times:
        put_dots(panel, x - THICK - APART - THIN - 0.75, span, spot)


def _closing(measure: Measure) -> Iterator[tuple[float, float]]:
    if measure.repeat_times or measure.barline is Barline.FINAL:
        yield 0.0, THICK
        yield THICK + APART, THIN
    else:
        yield 0.0, THIN
        if measure.barline is Barline.DOUBLE:
            yield THIN + APART, THIN


def put_repeat(panel: Panel, x: float, spot: Spot, span: tuple[float, float]) -> None:
    """Draw the sign that begins a repeat, from x on."""
    panel.put("barline", Rule((((x + THICK / 2, span[0]), (x + THICK / 2, span[1])),), THICK), spot, "repeat")
    thin = x + THICK + APART + THIN / 2
    panel.put("barline", Rule((((thin, span[0]), (thin, span[1])),), THIN), spot, "repeat")
    put_dots(panel, thin + 0.4, span, spot)


def put_dots(panel: Panel, x: float, span: tuple[float, float], spot: Spot) -> None:
    """Draw the two dots of a repeat."""
    middle = sum(span) / 2
    step = 0.5 if span[1] - span[0] <= 4 else 0.75
    for y in (middle - step, middle + step):
        panel.put("repeat-dot", Glyph("repeatDot", x, y), spot)
