"""The fonts of the sheet: how wide words are, and the outlines of the signs of music.

Words are set in Source Serif 4 (Latin, Greek, Cyrillic), signs of music in Bravura; both under the SIL Open Font
License 1.1, whose texts lie beside them. One em is four staff spaces of a sign (SMuFL 1.4, "Metrics and glyph
registration").
"""

from __future__ import annotations

import unicodedata
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

Style = Literal["regular", "bold", "italic"]

TEXT, MUSIC = "Source Serif 4", "Bravura"
FOLDER = Path(__file__).parent
FILES: Mapping[str, str] = {
    "regular": "SourceSerif4-Regular.ttf",
    "bold": "SourceSerif4-Bold.ttf",
    "italic": "SourceSerif4-Italic.ttf",
    "music": "Bravura.otf",
}

SIGNS: dict[str, str] = {
    "gClef": "\ue050",
    "gClef8vb": "\ue052",
    "fClef": "\ue062",
    "4stringTabClef": "\ue06e",
    "repeatDot": "\ue044",
    "repeatDots": "\ue043",
    "noteheadBlack": "\ue0a4",
    "noteheadHalf": "\ue0a3",
    "noteheadWhole": "\ue0a2",
    "noteheadXBlack": "\ue0a9",
    "noteheadXHalf": "\ue0a8",
    "noteheadXWhole": "\ue0a7",
    "augmentationDot": "\ue1e7",
    "metNoteWhole": "\ueca2",
    "metNoteHalfUp": "\ueca3",
    "metNoteQuarterUp": "\ueca5",
    "metNote8thUp": "\ueca7",
    "metNote16thUp": "\ueca9",
    "metAugmentationDot": "\uecb7",
    "tremolo1": "\ue220",
    "tremolo2": "\ue221",
    "tremolo3": "\ue222",
    "accidentalFlat": "\ue260",
    "accidentalNatural": "\ue261",
    "accidentalSharp": "\ue262",
    "accidentalDoubleSharp": "\ue263",
    "accidentalDoubleFlat": "\ue264",
    "articAccentAbove": "\ue4a0",
    "articAccentBelow": "\ue4a1",
    "articStaccatoAbove": "\ue4a2",
    "stringsDownBow": "\ue610",
    "stringsUpBow": "\ue612",
    "csymDiminished": "\ue870",
    "csymHalfDiminished": "\ue871",
    "csymAugmented": "\ue872",
    "csymMajorSeventh": "\ue873",
    "tupletColon": "\ue88a",
    "wiggleArpeggiatoUp": "\ueaa9",
    "guitarVibratoStroke": "\ueab2",
    "timeSigCommon": "\ue08a",
    "timeSigCutCommon": "\ue08b",
    "timeSigPlus": "\ue08c",
}
SIGNS |= {f"timeSig{digit}": chr(0xE080 + digit) for digit in range(10)}
SIGNS |= {f"tuplet{digit}": chr(0xE880 + digit) for digit in range(10)}
SIGNS |= {f"fingering{digit}": chr(0xED10 + digit) for digit in range(5)}
_SHORT = ("8th", "16th", "32nd", "64th", "128th", "256th")
SIGNS |= {f"rest{name}": chr(0xE4E3 + at) for at, name in enumerate(("Whole", "Half", "Quarter", *_SHORT))}
SIGNS |= {f"flag{name}Up": chr(0xE240 + 2 * at) for at, name in enumerate(_SHORT)}
SIGNS |= {f"flag{name}Down": chr(0xE241 + 2 * at) for at, name in enumerate(_SHORT)}
"""Characters of signs by their names in SMuFL 1.4 ("Glyph tables")."""


@cache
def _font(file: str) -> Any:
    from fontTools.ttLib import TTFont

    return TTFont(FOLDER / file, lazy=True)


@cache
def _advances(style: Style) -> tuple[Mapping[int, float], float]:
    """The advance of every character of a text font in ems, and that of `0`."""
    font = _font(FILES[style])
    widths, em = font["hmtx"].metrics, font["head"].unitsPerEm
    found = {character: widths[name][0] / em for character, name in font.getBestCmap().items()}
    return found, found[ord("0")]


def width_mm(text: str, size_mm: float, style: Style = "regular") -> float:
    """How wide a line of words is, without kerning, in mm; `size_mm` is the em.

    A character that the font lacks counts as an em where it is wide (Unicode Annex 11), else as a digit.
    """
    advances, digit = _advances(style)
    return size_mm * sum(
        advances.get(ord(character), 1.0 if unicodedata.east_asian_width(character) in "WF" else digit)
        for character in text
    )


UNSEEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp", "Zs"})
"""Categories of characters that need no picture: controls, marks of direction, spaces."""


def missing(text: str) -> str:
    """The characters of a text that neither the text font nor the music font has, each once, in order."""
    known = _advances("regular")[0].keys() | _font(FILES["music"]).getBestCmap().keys()
    characters = (each for each in dict.fromkeys(text) if ord(each) not in known)
    return "".join(each for each in characters if unicodedata.category(each) not in UNSEEN)


@cache
def sign_width(name: str) -> float:
    """The advance of a sign of music in staff spaces."""
    return 4 * float(_glyph(name).width) / float(_font(FILES["music"])["head"].unitsPerEm)


@cache
def sign_box(name: str) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a sign of music in staff spaces; down is positive, as in SVG."""
    from fontTools.pens.boundsPen import BoundsPen

    pen = BoundsPen(None)
    _glyph(name).draw(pen)
    space = _font(FILES["music"])["head"].unitsPerEm / 4
    left, low, right, high = pen.bounds or (0.0, 0.0, 0.0, 0.0)
    return left / space, -high / space, right / space, -low / space


BANDS = 8


@cache
def sign_bands(name: str) -> tuple[tuple[float, float, float, float], ...]:
    """The boxes of a sign's ink in bands from top to bottom: a flag or a flat leaves much of its box free."""
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    pen = DecomposingRecordingPen(_font(FILES["music"]).getGlyphSet())
    _glyph(name).draw(pen)
    space, points, at = _font(FILES["music"])["head"].unitsPerEm / 4, [], (0.0, 0.0)
    for step, given in pen.value:
        if step in {"moveTo", "lineTo", "curveTo"}:
            curve = [at, *given] if step != "moveTo" else [given[-1]]
            points += [_on_curve(curve, part / 24) for part in range(25)]
            at = given[-1]
    left, top, right, bottom = sign_box(name)
    high = (bottom - top) / BANDS
    boxes = []
    for number in range(BANDS):
        y0, y1 = top + number * high, top + (number + 1) * high
        xs = [x / space for x, y in points if y0 - 0.02 <= -y / space <= y1 + 0.02] or [left, right]
        boxes.append((min(xs), y0, max(xs), y1))
    return tuple(boxes)


def _on_curve(points: list[tuple[float, float]], part: float) -> tuple[float, float]:
    """A point of a line or Bezier curve, by the part of the way."""
    while len(points) > 1:
        points = [(x0 + (x1 - x0) * part, y0 + (y1 - y0) * part) for (x0, y0), (x1, y1) in pairwise(points)]
    return points[0]


@cache
def sign_path(name: str) -> str:
    """The outline of a sign of music as SVG path data in staff spaces; down is positive, as in SVG."""
    from fontTools.pens.svgPathPen import SVGPathPen
    from fontTools.pens.transformPen import TransformPen

    scale = 4 / _font(FILES["music"])["head"].unitsPerEm
    pen = SVGPathPen(None, ntos=lambda number: f"{number:.3f}".rstrip("0").rstrip("."))
    _glyph(name).draw(TransformPen(pen, (scale, 0, 0, -scale, 0, 0)))
    return str(pen.getCommands())


def _glyph(name: str) -> Any:
    font = _font(FILES["music"])
    return font.getGlyphSet()[font.getBestCmap()[ord(SIGNS[name])]]
