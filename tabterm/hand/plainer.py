"""A melody made plainer: what a learner can leave out of it. It keeps its beats (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from tabterm.hand.ornaments import Dressed, Dresser, Played
from tabterm.harmony.ground import moved
from tabterm.score.model import Event, Note
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from random import Random

#: quarters; common practice, no source
GRIDS = {
    False: (((Fraction(0), Fraction(1)), "in quarters"), ((Fraction(0), Fraction(2)), "in halves")),
    True: (((Fraction(0), Fraction(1), Fraction(3, 2)), "long and short"),),
}
"""Moments that a plainer rhythm keeps, and how often they come again, by whether beats divide in three."""


class Plainer(Dresser):
    """The melody of a theme, and what can be left out of it."""

    def plainer(self, random: Random) -> Iterator[Dressed]:
        """The melody without ornaments, then on its beats alone, then with some of the weak notes left out."""
        weak = [number for number in self.numbers if not self.pulses[number].strength]
        passing = [number for number in weak if not self.pulses[number].has(self.theme.notes[number].pitch or 0)]
        off_beats: dict[int, list[int]] = {}
        for number in weak:
            off_beats.setdefault(self._beat(number), []).append(number)
        beats, compound = sorted(off_beats), self.theme.score.metres[self.theme.span.start.measure].compound
        some = [sorted(random.sample(beats, size)) for size in range(1, len(beats)) for _ in range(2)]
        ways: list[tuple[Sequence[int], str]] = [
            ((), "no ornaments"),
            (self._again(), "repeated notes held"),
            (passing, "without passing notes"),
            *((self._between(grid), told) for grid, told in GRIDS[compound]),
            *(([at for beat in each for at in off_beats[beat]], f"one note on {_beats(each)}") for each in some),
            (weak, "only the notes on a beat"),
            (
                [number for number in self.numbers if self.pulses[number].strength < 2],
                "only the notes on strong beats",
            ),
        ]
        for dropped, told in ways:
            for low in (False, True):
                left = {*dropped} - {self.numbers[0]}
                yield self._less(left, f"{told}, low on the neck" if low else told, low=low)

    def _again(self) -> list[int]:
        """The weak notes that repeat the one before."""
        pitches = {number: self.theme.notes[number].pitch for number in self.numbers}
        return [
            number
            for number in self.numbers
            if self.pulses[number].strength < 2 and pitches.get(number - 1) == pitches[number]
        ]

    def _between(self, kept: Sequence[Fraction]) -> list[int]:
        """The weak notes at other moments of each stretch of the last of some moments."""
        *moments, size = kept
        start = self.theme.span.start.offset
        return [
            number
            for number in self.numbers
            if not self.pulses[number].strength and (self.theme.notes[number].at + start) % size not in moments
        ]

    def _beat(self, number: int) -> int:
        """The number of the beat that a note lies in, from 1."""
        theme = self.theme
        place = moved(theme.score, theme.span.start, theme.notes[number].at)
        index = min(place.measure, len(theme.score.measures) - 1)
        return theme.score.metres[index].beat_at(place.offset + lead_in(theme.score, index))[0] + 1

    def _less(self, dropped: set[int], told: str, *, low: bool) -> Dressed:
        """The melody without some notes, the ones before them held; `low`: where it has the lowest frets."""
        kept: list[Played] = []
        for number, here in enumerate(self.played):
            pitch = self.theme.notes[number].pitch
            if number in dropped and kept:
                kept[-1] = kept[-1]._replace(length=kept[-1].length + here.length)
            elif here.event is None or pitch is None:
                kept.append(here._replace(event=None))
            else:
                kept.append(here._replace(event=self._plain(here.event, pitch, low=low), free=low))
        return self.dressed({number: [] for number in range(len(self.played))} | {0: kept}, told)

    def _plain(self, event: Event, pitch: int, *, low: bool) -> Event:
        """The highest note of an event, struck and without any mark; a bent one as it is bent to."""
        note = next(each for each in event.notes if self.pitch(each) == pitch)
        to = ceil(note.bend.cents / 100) if note.bend else 0
        spot = (self.spot(pitch + to) if low else None) or (note.course, note.fret + to)
        bare = Note(course=spot[0], fret=spot[1], course_set=note.course_set and spot == note.spot)
        return Event(duration=event.duration, notes=(bare,))


def _beats(numbers: Sequence[int]) -> str:
    return f"beat{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
