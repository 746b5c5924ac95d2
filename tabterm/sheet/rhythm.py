"""Rhythm under the courses, where there is no staff of notes: stems, flags, beams, dots, tuplets and rests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.duration import TUPLETS
from tabterm.sheet.beams import STEM, Stem, bars, trembles
from tabterm.sheet.extents import CENTRE, DOT, DOT_GAP, FLAG, RESTS, dots_x
from tabterm.sheet.ink import Glyph, Rule
from tabterm.sheet.panel import Spot
from tabterm.sheet.staff import FLAGS, put_tuplet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.sheet.reading import Chord
    from tabterm.sheet.spacing import Placed
    from tabterm.sheet.tab import TabDrawer

START, END, HALF_START = 1.0, 4.2, 2.9
"""Where stems begin and end under the lowest course; a half note has a short one, a whole one none; tuned here."""


def stem_end(chord: Chord) -> float:
    """Where the stem of a chord ends: lower for many beams, and for a tremolo beside a flag."""
    more = 0.6 if trembles(chord) and chord.flags and not chord.group else 0.0
    return END + 0.75 * max(0, chord.flags - 2) + more + 0.35 * trembles(chord) * bool(chord.flags)


def draw_rhythm(drawer: TabDrawer, placed: Placed) -> None:
    """Draw the rhythm of a measure under its digits."""
    reading = placed.spaced.reading
    by_number = {chord.number: chord for chord in reading.chords}
    for chord in reading.chords:
        x = placed.x[chord.offset]
        if chord.is_rest:
            _rest(drawer, chord, x, placed)
        else:
            group = [by_number[number] for number in chord.group]
            _stem(drawer, chord, x + CENTRE, max(map(stem_end, group or [chord])))
    for chord in reading.chords:
        if chord.group and chord.number == chord.group[0]:
            run = [by_number[number] for number in chord.group]
            end = drawer.bottom + max(map(stem_end, run))
            stems = [Stem(placed.x[each.offset] + CENTRE, 0.0, end) for each in run]
            for bar in bars(run, stems, up=False):
                drawer.panel.put("beam", bar, Spot(chord.measure, chord.offset))
    for first, last in reading.tuplets:
        _tuplet(drawer, reading.chords[first : last + 1], placed)


def _stem(drawer: TabDrawer, chord: Chord, x: float, low: float) -> None:
    panel, spot, bottom = drawer.panel, Spot(chord.measure, chord.offset), drawer.bottom
    value = chord.duration.value
    end = bottom + low
    start = bottom + (HALF_START if value == 2 else START)
    if value >= 2:
        panel.put("stem", Rule((((x, start), (x, end)),), STEM), spot, str(chord.duration))
    if chord.flags and not chord.group:
        panel.put("flag", Glyph(f"{FLAGS[chord.flags]}Down", x - STEM / 2, end), spot)
    for number in range(chord.duration.dots):
        at = x + 0.3 + number * (DOT + DOT_GAP) + (FLAG if chord.flags and not chord.group else 0.0)
        at += 0.35 if trembles(chord) and not (chord.flags and not chord.group) else 0.0
        panel.put("dot", Glyph("augmentationDot", at, start + 0.25), spot)
    if chord.event is not None and chord.event.tremolo_shown:
        panel.put("tremolo", Glyph("tremolo3", x, bottom + 1.95, 0.75), spot, "3")


def _rest(drawer: TabDrawer, chord: Chord, x: float, placed: Placed) -> None:
    panel, spot, middle = drawer.panel, Spot(chord.measure, chord.offset), drawer.bottom / 2
    if chord.whole_rest:
        centre = (placed.left + placed.spaced.head + placed.right) / 2
        panel.put("rest", Glyph("restWhole", centre - 0.56, middle - 0.75), spot, "1")
        return
    name, y = RESTS[chord.duration.value]
    panel.put("rest", Glyph(name, x, middle + y - 2), spot, str(chord.duration))
    for number in range(chord.duration.dots):
        at = x + dots_x(chord) + number * (DOT + DOT_GAP)
        panel.put("dot", Glyph("augmentationDot", at, middle - 0.5), spot)


def _tuplet(drawer: TabDrawer, chords: Sequence[Chord], placed: Placed) -> None:
    ratio = chords[0].duration.tuplet
    if ratio is None:
        return
    figures = str(ratio.actual) if ratio in TUPLETS else str(ratio)
    span = placed.x[chords[0].offset] + CENTRE - 0.5, placed.x[chords[-1].offset] + CENTRE + 0.5
    bracket = chords[0].group != tuple(chord.number for chord in chords)
    put_tuplet(
        drawer.panel, figures, span, Spot(chords[0].measure, chords[0].offset), above=False, bracket=bracket
    )
