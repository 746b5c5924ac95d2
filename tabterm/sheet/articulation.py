"""Marks of single notes on the staff: accents, dots of staccato, rolls, vibrato, bends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import Direction
from tabterm.sheet import fonts
from tabterm.sheet.extents import CENTRE, LETTER_EM, amount, words_width
from tabterm.sheet.ink import Curve, Glyph, Group, Shape, Words
from tabterm.sheet.panel import Spot

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.source import Bend
    from tabterm.sheet.panel import Panel
    from tabterm.sheet.reading import Chord
    from tabterm.sheet.spacing import Placed
    from tabterm.sheet.staff import StaffDrawer


def put_articulations(drawer: StaffDrawer, system: Sequence[Placed], *, bends: bool) -> None:
    """Draw the marks of a system's notes, each at its head; `bends` too where no tablature has them."""
    chords = [
        (chord, placed.x[chord.offset])
        for placed in system
        for chord in placed.spaced.reading.chords
        if chord.event is not None and chord.heads
    ]
    for chord, x in chords:
        _roll(drawer.panel, chord, x)
    for chord, x in chords:
        _chord(drawer.panel, chord, x, bends=bends)


def _roll(panel: Panel, chord: Chord, x: float) -> None:
    if chord.event is not None and chord.event.roll is not None and len(chord.heads) > 1:
        span = chord.high.y - 0.7, chord.low.y + 0.7
        put_roll(panel, x - chord.left + 0.65, span, chord.event.roll, Spot(chord.measure, chord.offset))


def _chord(panel: Panel, chord: Chord, x: float, *, bends: bool) -> None:
    event, spot = chord.event, Spot(chord.measure, chord.offset)
    if event is None:
        return
    above = not chord.stem_up
    middle = x + CENTRE
    if event.staccato:
        put_mark(panel, "articStaccatoAbove", middle, spot, "staccato", above=above)
    if event.accent:
        put_mark(panel, "articAccentAbove" if above else "articAccentBelow", middle, spot, "accent", above=above)
    for note in event.notes:
        own = Spot(chord.measure, chord.offset, note.course)
        if note.vibrato:
            put_vibrato(panel, middle, own)
        if note.bend is not None and bends:
            put_bend(panel, note.bend, middle, own)


def put_mark(panel: Panel, name: str, middle: float, spot: Spot, kind: str, *, above: bool) -> None:
    """Draw an articulation next to the notes, outside the staff or in one of its spaces."""
    left, top, right, bottom = fonts.sign_box(name)
    x = middle - (left + right) / 2
    if above:
        y = panel.skyline.top(x + left, x + right, 0.0) - 0.35 - bottom
    else:
        y = panel.skyline.bottom(x + left, x + right, 4.0) + 0.35 - top
    panel.put(kind, Glyph(name, x, y), spot, kind)


def put_vibrato(panel: Panel, middle: float, spot: Spot) -> None:
    """Draw a wavy line over a note."""
    left, _, right, bottom = vibrato(0.0, 0.0).bounds
    x = middle - (left + right) / 2
    y = panel.skyline.top(x + left, x + right, -0.4) - 0.3 - bottom
    panel.put("vibrato", vibrato(x, y), spot)


def put_bend(panel: Panel, bend: Bend, middle: float, spot: Spot) -> None:
    """Draw a small rising arrow with the amount over a note."""
    text, em = amount(bend), LETTER_EM
    width = words_width(text, em)
    y = panel.skyline.top(middle - 0.6, middle + 1.2 + width, -0.5) - 0.4
    rise = Curve(((middle - 0.4, y), (middle + 0.2, y), (middle + 0.6, y - 0.2), (middle + 0.6, y - 0.8)))
    arrow = Shape(((middle + 0.6, y - 1.3), (middle + 0.3, y - 0.7), (middle + 0.9, y - 0.7)))
    panel.put("bend", Group((rise, arrow)), spot, text)
    panel.put("bend-amount", Words(text, middle + 1.1, y - 0.2, em), spot, text)


def arrow(x: float, y: float, *, up: bool) -> Shape:
    """The head of an arrow with its tip at a point."""
    way = 1 if up else -1
    return Shape(((x, y), (x - 0.32, y + way * 0.65), (x + 0.32, y + way * 0.65)))


def put_roll(panel: Panel, x: float, span: tuple[float, float], direction: Direction, spot: Spot) -> None:
    """Draw a wavy line from top to bottom, with an arrow at its end: towards the higher courses it points up."""
    top, bottom = span
    up = direction is Direction.UP
    waves, count = [], max(2, round((bottom - top) / 0.6))
    step = (bottom - top) / count
    for number in range(count):
        y = top + number * step
        side = 0.3 if number % 2 else -0.3
        waves.append(Curve(((x, y), (x + side, y + step / 3), (x + side, y + 2 * step / 3), (x, y + step)), 0.17))
    tip = top - 0.65 if up else bottom + 0.65
    panel.put("roll", Group((*waves, arrow(x, tip, up=up))), spot, direction.value)


def vibrato(x: float, y: float) -> Group:
    """Four waves of a line."""
    width = fonts.sign_width("guitarVibratoStroke")
    return Group(tuple(Glyph("guitarVibratoStroke", x + number * width, y) for number in range(4)))
