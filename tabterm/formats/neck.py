"""Pitches of any instrument on the neck: each on the lowest fret that is free.

A reader that knows pitches alone lays them so, and keeps them in `Measure.source`; which course and fret a hand
would take is worked out elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tabterm.score.model import Note

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.instrument import Instrument

MOST_NOTES = 4


@dataclass
class Placing:
    """Lays pitches on the neck of an instrument, and counts what did not fit.

    Attributes:
        instrument: Whose neck it is.
        moved: Notes moved by octaves.
        dropped: Notes that found no course.
    """

    instrument: Instrument
    moved: int = 0
    dropped: int = 0

    def notes(self, pitches: Iterable[int]) -> tuple[Note, ...]:
        """Notes on different courses for MIDI note numbers that sound together, the highest first."""
        within = sorted({self._within(pitch) for pitch in pitches}, reverse=True)
        notes: list[Note] = []
        for pitch in within:
            above = notes[-1].course if notes else 0
            places = [place for place in self.instrument.places_of(pitch) if place[0] > above]
            if not places or len(notes) == MOST_NOTES:
                self.dropped += 1
                continue
            course, fret = places[0]
            notes.append(Note(course=course, fret=fret))
        return tuple(notes)

    def _within(self, pitch: int) -> int:
        lowest = min(course.pitch for course in self.instrument.courses)
        highest = max(course.pitch for course in self.instrument.courses) + self.instrument.frets
        if lowest <= pitch <= highest:
            return pitch
        self.moved += 1
        while pitch < lowest:
            pitch += 12
        while pitch > highest:
            pitch -= 12
        return max(pitch, lowest)

    def words(self) -> list[str]:
        """What did not fit, as remarks."""
        words = [f"{self.moved} notes beyond the neck were moved by octaves"] if self.moved else []
        return words + ([f"{self.dropped} notes that found no course were left out"] if self.dropped else [])
