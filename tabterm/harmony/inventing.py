"""New phrases as sketches: other pitches or another order for a rhythm, before any of it has a place on the neck.

What a teacher asks of each kind is common practice, no source; `tests/hand/test_invention.py` holds each to it.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise, product
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.harmony.chords import parse_chord
from tabterm.harmony.craft import faults, points
from tabterm.harmony.lines import CONTOURS, Lot, Wish, centre, mirrors
from tabterm.harmony.spelling import chord_in_force
from tabterm.score.operations.marks import lay_chords
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from random import Random

    from tabterm.harmony.ground import Pulse
    from tabterm.harmony.sketches import Sketch, Theme
    from tabterm.score.model import Score

DRAWS = 120  #: lines; tuned here: the best of so many are good ones
"""Lines that are drawn of each kind."""

ORDERS, SWAPS = 10, 16  #: orders, times the notes; tuned here
"""How many orders are begun with, and how often two notes are swapped in search of a better one."""

SIZES = (16, 10)  #: semitones; common practice, no source: an octave and a third, and less than an octave
"""The compass of a line: what lies under the hand in one position, or in part of one."""

REGISTERS = 3  #: definition: low, middle and high

FEW, OCTAVE = 12, 12  #: lines; semitones; tuned here: where chance finds so few, a line is moved so far as a whole

LIKE = 0.85  #: part of the moves; common practice, no source
"""A line has the contour of another where so many of its moves go the same way."""


class Way(StrEnum):
    """How a new phrase is made; the values are the words for it."""

    REORDERED = "reordered"
    REPITCHED = "repitched"
    OVER = "over"
    ORNAMENTED = "ornamented"
    PLAINER = "plainer"
    EXTENDED = "extended"
    ANSWER = "answer"
    NEW = "new"


WORDS = {
    Way.REORDERED: "the same notes and rhythm in another order",
    Way.REPITCHED: "the same rhythm with other notes",
    Way.OVER: "the same contour over another chord",
    Way.ORNAMENTED: "the same melody with slurs, slides, approach notes and double stops",
    Way.PLAINER: "the same melody made easier for a learner",
    Way.EXTENDED: "the phrase continued to the root or third of the next chord",
    Way.ANSWER: "an answer after the phrase",
    Way.NEW: "a new phrase from a scale or chord",
}
"""What each way does."""


# From a phrase


def reordered(theme: Theme, random: Random) -> Iterator[Sketch]:
    """The same notes in another order: swapped as long as a teacher has less to mend."""
    line = theme.line
    if len(set(line.pitches)) < 2:
        raise ScoreError("notes of one pitch have no other order", hint="select more notes")
    near = tuple(float(pitch) for pitch in line.pitches)
    lot = Lot(Wish(line.pulses, min(line.pitches), max(line.pitches), near, before=line.before))
    for _ in range(ORDERS):
        pitches = lot.order(line.pitches, random)
        least = points(line._replace(pitches=tuple(pitches)))
        for turn in range(SWAPS * len(pitches)):
            if turn % SWAPS == 0:
                wrong = [each.number for each in faults(line._replace(pitches=tuple(pitches)))] or [0]
            one = min(max(random.choice(wrong) + random.choice((-1, 0, 0, 1)), 0), len(pitches) - 1)
            other = random.randrange(len(pitches))
            pitches[one], pitches[other] = pitches[other], pitches[one]
            found = points(line._replace(pitches=tuple(pitches)))
            if found <= least:
                least = found
            else:
                pitches[one], pitches[other] = pitches[other], pitches[one]
        yield theme.sketch(theme.notes, pitches)


def repitched(theme: Theme, random: Random) -> Iterator[Sketch]:
    """Other notes to the same rhythm, along contours of several kinds; measures of one rhythm go alike."""
    line = theme.line
    lowest, highest = theme.compass
    wish = Wish(
        line.pulses,
        lowest,
        highest,
        (),
        target=line.pulses[-1].home,
        before=line.before,
        after=line.after,
        chromatic=True,
    )
    for drawn in along(theme, wish, random, tuple(CONTOURS)[:4]):
        yield theme.sketch(theme.notes, drawn)


def along(
    theme: Theme, wish: Wish, random: Random, shapes: Sequence[str], draws: int = DRAWS
) -> Iterator[tuple[int, ...]]:
    """Lines along some contours, each as often as the others; in half of them measures of one rhythm go alike."""
    like = mirrors(wish.pulses, theme.score.metres[theme.span.start.measure].length)
    lots = []
    for number, (size, _, shape) in enumerate(product(SIZES, range(REGISTERS), shapes)):
        beyond = max(wish.highest - wish.lowest - size, 0)
        low = wish.lowest + beyond * (number % REGISTERS) // (REGISTERS - 1)
        high = min(low + size, wish.highest)
        near = centre(shape, wish.pulses, low, high)
        own = replace(wish, lowest=low, highest=high, centre=near, mirrors={} if number % 2 else like)
        lots.append(Lot(own))
    for turn in range(draws):
        drawn = lots[turn % len(lots)].draw(random)
        if drawn is not None:
            yield drawn


def over(theme: Theme, random: Random, symbol: str) -> Iterator[Sketch]:
    """The same rhythm and contour over another chord, which is written over it."""
    if (chord := parse_chord(symbol)) is None or chord.root is None:
        raise ScoreError(f"not a chord: '{symbol}'", hint="write one such as Am7 or D7")
    before = chord_in_force(theme.score, theme.span.end)
    marks = [(theme.span.start, symbol)]
    changed = lay_chords(theme.score, theme.span, dict(marks))
    last = theme.span.end
    if before and last.measure < len(changed.measures) and not _marked(changed, last):
        marks.append((last, before))
        changed = lay_chords(
            changed, Span(last, Place(last.measure, last.offset + Fraction(1, 64))), {last: before}
        )
    there = replace(theme, score=changed)
    line, old = there.line, theme.line
    lowest, highest = theme.compass
    drawn_like = 0
    for turn in range(DRAWS):
        shift = turn % 7 - 3
        near = tuple(float(pitch + shift) for pitch in old.pitches)
        wish = Wish(
            line.pulses, lowest, highest, near, spread=2.5, target=line.pulses[-1].home, before=line.before
        )
        drawn = Lot(wish).draw(random)
        if drawn is not None and likeness(drawn, old.pitches) >= LIKE:
            drawn_like += 1
            yield replace(there.sketch(theme.notes, drawn), chords=tuple(marks))
    if drawn_like < FEW:
        for moved in _moved(line.pulses, old.pitches, lowest, highest):
            yield replace(there.sketch(theme.notes, moved), chords=tuple(marks))


def _moved(
    pulses: Sequence[Pulse], pitches: Sequence[int], lowest: int, highest: int
) -> Iterator[tuple[int, ...]]:
    """A line moved up and down as a whole, each note to the nearest tone of the chord, where its contour stays."""
    for shift in sorted(range(-OCTAVE, OCTAVE + 1), key=abs):
        found = tuple(
            min((abs(each - pitch - shift), each) for each in range(lowest, highest + 1) if pulse.has(each))[1]
            for pulse, pitch in zip(pulses, pitches, strict=True)
        )
        if likeness(found, pitches) == 1.0:
            yield found


def _marked(score: Score, place: Place) -> bool:
    return any(mark.offset == place.offset for mark in score.measures[place.measure].chords)


def likeness(one: Sequence[int], other: Sequence[int]) -> float:
    """The part of the moves of two lines of as many notes that go the same way; all of none, of one note."""
    ours, theirs = ([(after > at) - (after < at) for at, after in pairwise(pitches)] for pitches in (one, other))
    return sum(way == same for way, same in zip(ours, theirs, strict=True)) / len(ours) if ours else 1.0
