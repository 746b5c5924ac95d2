"""Rows over and under the staves: chord symbols, fingers, strokes, and rows of words such as degrees."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.right_hand import silent_strokes
from tabterm.page.rows import row_named
from tabterm.score.kinds import Stroke
from tabterm.sheet import fonts
from tabterm.sheet.extents import CENTRE, Extent
from tabterm.sheet.ink import Glyph, Group, Words
from tabterm.sheet.panel import Spot

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from fractions import Fraction

    from tabterm.score.model import Event, Score
    from tabterm.sheet.ink import Drawn
    from tabterm.sheet.layout import Layout
    from tabterm.sheet.panel import Panel
    from tabterm.sheet.spacing import Placed

CHORD_EM, WORDS_EM, NAME_EM = 2.5, 1.6, 1.3
STROKE, FINGER = 1.0, 1.1
"""Sizes of words in ems, and of signs beside the font's own; tuned here."""

BESIDE = 0.25
"""Room beside a sign of a row to what reaches as high; tuned here."""

BOWS = {Stroke.DOWN: "stringsDownBow", Stroke.UP: "stringsUpBow"}
"""SMuFL's signs of the strokes; MusicXML 4.0 has the same two for bow and pick (`down-bow`, `up-bow`)."""

ELSEWHERE = frozenset({"remark", "chord", "count", "rhythm", "source", "course", "finger", "stroke", "effort"})
"""Rows that are drawn in another way than as words under the staves."""

_ACCIDENTAL = re.compile(r"(?<=[A-Ha-h])([#♯b♭]{1,2})|([#♯b♭])(?=\d)|(?<![A-Za-z])([#b])(?=[IViv])|([𝄪𝄫])")
_SIGNS = {"#": "accidentalSharp", "♯": "accidentalSharp", "b": "accidentalFlat", "♭": "accidentalFlat"}
_DOUBLE = {"𝄪": "accidentalDoubleSharp", "𝄫": "accidentalDoubleFlat"}
_QUALITIES = {"°": "csymDiminished", "ø": "csymHalfDiminished", "Δ": "csymMajorSeventh"}


class Item(NamedTuple):
    """One cell of a row: how it is drawn on a base line, and what it belongs to."""

    kind: str
    at: Callable[[float], Drawn]
    spot: Spot
    text: str


def put_row(
    panel: Panel, items: Sequence[Item], *, above: bool, gap: float, edge: float, aligned: bool = True
) -> float:
    """Draw items outside all that a panel has, on one base line or each as near as it can.

    Args:
        panel: What is drawn on.
        items: From left to right.
        above: Over the panel; else under it.
        gap: Least room to what lies nearer.
        edge: They lie beyond this height.
        aligned: All stand on one base line.

    Returns:
        The height that they reach to, or the edge where there are none.
    """
    way = -1 if above else 1
    base = max((way * _base(panel, item, edge, above=above, gap=gap) for item in items), default=0.0) * way
    reached = edge
    for item in items:
        own = _base(panel, item, edge, above=above, gap=gap)
        at = way * max(way * own, way * base) if aligned else own
        bounds = panel.put(item.kind, item.at(at), item.spot, item.text).bounds
        reached = min(reached, bounds[1]) if above else max(reached, bounds[3])
    return reached


def _base(panel: Panel, item: Item, edge: float, *, above: bool, gap: float) -> float:
    left, top, right, bottom = item.at(0.0).bounds
    left, right = left - BESIDE, right + BESIDE
    if above:
        return min(panel.skyline.top(left, right, 50.0) - gap, edge) - bottom
    return max(panel.skyline.bottom(left, right, -50.0) + gap, edge) - top


# Words with signs of music in them


def with_accidentals(text: str, x: float, y: float, em: float, style: fonts.Style = "regular") -> Group | Words:
    """A text whose accidentals and chord signs are drawn as signs of music, for the text font has none."""
    parts: list[Words | Glyph] = []
    at = 0
    for match in _ACCIDENTAL.finditer(text):
        x = _words(parts, text[at : match.start()], x, y, em, style)
        for sign in match.group():
            name = _DOUBLE.get(sign) or _SIGNS[sign]
            size, lift = em * 0.3, em * (0.28 if "Flat" not in name else 0.2)
            parts.append(Glyph(name, x + 0.04 * em, y - lift, size))
            x += fonts.sign_box(name)[2] * size + 0.08 * em
        at = match.end()
    _words(parts, text[at:], x, y, em, style)
    return Group(tuple(parts)) if len(parts) != 1 or isinstance(parts[0], Glyph) else parts[0]


def _words(parts: list[Words | Glyph], text: str, x: float, y: float, em: float, style: fonts.Style) -> float:
    for piece in re.split(r"([°øΔ])", text):
        if piece in _QUALITIES:
            name = _QUALITIES[piece]
            parts.append(Glyph(name, x + 0.05 * em, y - 0.25 * em, em * 0.22))
            x += fonts.sign_box(name)[2] * em * 0.22 + 0.1 * em
        elif piece:
            words = Words(piece, x, y, em, style)
            parts.append(words)
            x += words.width
    return x


def centred(text: str, middle: float, y: float, em: float, style: fonts.Style = "regular") -> Drawn:
    """The same around a middle."""
    left, _, right, _ = with_accidentals(text, 0.0, 0.0, em, style).bounds
    return with_accidentals(text, middle - (left + right) / 2, y, em, style)


# What stands in the rows


def stroke_sign(stroke: Stroke, middle: float, y: float, *, silent: bool = False) -> Drawn:
    """The sign of a stroke over a base line; in brackets where it strikes nothing."""
    name = BOWS[stroke]
    size = STROKE * (0.75 if silent else 1.0)
    left, _, right, bottom = fonts.sign_box(name)
    glyph = Glyph(name, middle - (left + right) / 2 * size, y - bottom * size, size)
    if not silent:
        return glyph
    open_, close = Words("(", glyph.bounds[0] - 0.65, y, 1.7), Words(")", glyph.bounds[2] + 0.12, y, 1.7)
    return Group((open_, glyph, close))


def strokes_of(score: Score, index: int, layout: Layout) -> Mapping[Fraction, tuple[Stroke, bool]]:
    """The strokes of a measure by offset, and whether each is silent."""
    found = {}
    if "stroke" in layout.shown:
        for offset, event in score.measures[index].timed():
            stroke = event.stroke_shown
            if event.takes_stroke and stroke in BOWS and stroke is not None:
                found[offset] = (stroke, False)
        if layout.silent_strokes:
            for offset, stroke in silent_strokes(score, index):
                found.setdefault(offset, (stroke, True))
    return found


def words_of(score: Score, index: int, name: str) -> Mapping[Fraction, str]:
    """The cells of a row of words in a measure."""
    row = row_named(name)
    return {} if row is None or row.printed is None else row.printed(score, index)


def word_rows(layout: Layout) -> list[str]:
    """Rows of words under the staves."""
    return [name for name in layout.shown if name not in ELSEWHERE or name == "count"]


def needs(score: Score, index: int, layout: Layout) -> list[Mapping[Fraction, Extent]]:
    """For each row of a measure, how much room it takes at which moments."""
    rows: list[Mapping[Fraction, Extent]] = []
    if "chord" in layout.shown:
        chords = {}
        for mark in score.measures[index].chords:
            left, _, right, _ = with_accidentals(mark.symbol, 0.0, 0.0, CHORD_EM).bounds
            chords[mark.offset] = Extent(-left, right + 0.5)
        rows.append(chords)
    signs = {}
    for offset, (stroke, silent) in strokes_of(score, index, layout).items():
        left, _, right, _ = stroke_sign(stroke, CENTRE, 0.0, silent=silent).bounds
        signs[offset] = Extent(-left, right)
    rows.append(signs)
    for name in word_rows(layout):
        words = {}
        for offset, text in words_of(score, index, name).items():
            left, _, right, _ = centred(text, CENTRE, 0.0, WORDS_EM).bounds
            words[offset] = Extent(-left, right)
        rows.append(words)
    return rows


def chord_items(score: Score, system: Sequence[Placed]) -> list[Item]:
    """Chord symbols where they stand."""
    return [
        Item(
            "chord",
            partial(with_accidentals, mark.symbol, placed.x_at(mark.offset), em=CHORD_EM),
            spot,
            mark.symbol,
        )
        for placed in system
        for mark in score.measures[placed.index].chords
        for spot in (Spot(placed.index, mark.offset),)
    ]


def stroke_items(score: Score, system: Sequence[Placed], layout: Layout) -> list[Item]:
    """Strokes under (or over) their notes."""
    items = []
    for placed in system:
        for offset, (stroke, silent) in sorted(strokes_of(score, placed.index, layout).items()):
            drawn = partial(stroke_sign, stroke, placed.x_at(offset) + CENTRE, silent=silent)
            kind = "silent-stroke" if silent else "stroke"
            items.append(Item(kind, drawn, Spot(placed.index, offset), stroke.value))
    return items


def word_items(score: Score, system: Sequence[Placed], name: str) -> list[Item]:
    """The cells of a row of words."""
    return [
        Item(name, partial(centred, text, placed.x_at(offset) + CENTRE, em=WORDS_EM), spot, text)
        for placed in system
        for offset, text in sorted(words_of(score, placed.index, name).items())
        for spot in (Spot(placed.index, offset),)
    ]


def name_item(name: str) -> Item:
    """The name of a row of words, at the left of the system."""
    return Item("row-name", partial(Words, name, 0.0, size=NAME_EM, style="italic"), Spot(), name)


def fingers_of(event: Event) -> list[tuple[int, int]]:
    """Course and finger of the notes that have one, the highest course first."""
    return [(note.course, note.finger_shown) for note in event.notes if note.finger_shown is not None]


def finger_items(system: Sequence[Placed], *, aligned: bool) -> list[Item]:
    """Fingers, one over another for a double stop: a row at the tablature, or one by one over the staff."""
    items = []
    for placed in system:
        for column in placed.spaced.columns:
            event = column.chord.event if column.chord is not None else None
            for grace in column.graces:
                note = grace.head.note
                if note is not None and note.finger_shown is not None:
                    x = placed.x[column.offset] + grace.x + CENTRE * 0.66
                    spot = Spot(placed.index, column.offset, note.course)
                    items.append(_finger(note.finger_shown, x, 0.0, spot, 0.8))
            if event is None:
                continue
            for number, (course, finger) in enumerate(fingers_of(event)):
                lift = number * 1.5 if aligned else 0.0
                spot = Spot(placed.index, column.offset, course)
                items.append(_finger(finger, placed.x[column.offset] + CENTRE, lift, spot))
    return items if aligned else items[::-1]


def _finger(finger: int, middle: float, drop: float, spot: Spot, size: float = 1.0) -> Item:
    name = f"fingering{finger}"
    left, _, right, _ = fonts.sign_box(name)
    x = middle - (left + right) / 2 * FINGER * size
    return Item("finger", lambda y: Glyph(name, x, y + drop, FINGER * size), spot, str(finger))
