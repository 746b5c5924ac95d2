"""Sketches of new phrases: notes of a rhythm over their ground, before any of it has a place on the neck."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.harmony.craft import Melody, points
from tabterm.harmony.ground import Under, moved, pool_of
from tabterm.score.operations.timeline import flatten
from tabterm.score.place import Place
from tabterm.score.query import next_event, previous_event

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.harmony.pools import Pool
    from tabterm.score.model import Event, Score
    from tabterm.score.place import Span

WIDER = 4  #: semitones; common practice, no source
"""A new line goes so far below and above the old one."""

HIGHEST_FRET = 12  #: frets; common practice, no source
"""New lines stay below it, unless the old one goes further."""


class Note(NamedTuple):
    """A note or a rest of a sketch.

    Attributes:
        at: Quarters from its start.
        length: Quarters.
        pitch: MIDI note number; None for a rest.
        event: The event whose value it has, where there is one.
    """

    at: Fraction
    length: Fraction
    pitch: int | None
    event: Event | None = None


@dataclass(frozen=True)
class Sketch:
    """A phrase that is to be.

    Attributes:
        start: Where it begins.
        notes: In order, without gaps.
        points: What a teacher would mend in it; less is better.
        chords: Chord symbols that take the place of those that stand there.
    """

    start: Place
    notes: tuple[Note, ...]
    points: float
    chords: tuple[tuple[Place, str], ...] = ()

    @property
    def length(self) -> Fraction:
        """Quarters."""
        return self.notes[-1].at + self.notes[-1].length

    @property
    def pitches(self) -> tuple[int, ...]:
        """Its notes, rests left out."""
        return tuple(note.pitch for note in self.notes if note.pitch is not None)


@dataclass(frozen=True)
class Theme:
    """The phrase that a new one is made from.

    Attributes:
        score: The score.
        span: Where it is.
        pool: What new notes are of; None for the scale that explains it.
        strictly: No note is outside that pool, whatever the chords are.
    """

    score: Score
    span: Span
    pool: Pool | None = None
    strictly: bool = False

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """Its melody: the highest note of each event."""
        found, at = [], Fraction(0)
        pitch = self.score.head.instrument.pitch
        for event, length in flatten(self.score, self.span):
            sounding = [pitch(note.course, note.fret) for note in event.notes if not note.muted] if event else []
            found.append(Note(at, length, max(sounding, default=None), event))
            at += length
        return tuple(found)

    @cached_property
    def under(self) -> Under:
        """What lies under the score."""
        return Under(self.score, self.pool or pool_of(self.score, self.span), strictly=self.strictly)

    def melody(self, notes: Sequence[Note], start: Place | None = None) -> Melody:
        """Notes over their ground; they begin where the phrase does, or at `start`."""
        at = start or self.span.start
        sounding = [note for note in notes if note.pitch is not None]
        pulses = self.under.pulses(at, [(note.at, note.length) for note in sounding])
        end = moved(self.score, at, notes[-1].at + notes[-1].length)
        pitches = tuple(note.pitch for note in sounding if note.pitch is not None)
        return Melody(pulses, pitches, self._beside(at, -1), self._beside(end, 1))

    def _beside(self, place: Place, way: int) -> int | None:
        """What sounds right before a place, or at it (`way` 1)."""
        if way > 0:
            back = Place(place.measure, place.offset - Fraction(1, 10**6))
            found = next_event(self.score, back) if place.measure < len(self.score.measures) else None
        else:
            found = previous_event(self.score, place)
        if found is None:
            return None
        pitches = [self.score.head.instrument.pitch(*note.spot) for note in found[1].notes if not note.muted]
        return max(pitches, default=None)

    @cached_property
    def line(self) -> Melody:
        """The melody over its ground.

        Raises:
            ScoreError: Nothing sounds.
        """
        if all(note.pitch is None for note in self.notes):
            raise ScoreError("no notes to make a phrase from", hint="select some notes, or name a scale")
        return self.melody(self.notes)

    @cached_property
    def compass(self) -> tuple[int, int]:
        """The lowest and the highest pitch of a new line."""
        instrument = self.score.head.instrument
        floor = min(course.pitch for course in instrument.courses)
        top = max(course.pitch for course in instrument.courses) + min(HIGHEST_FRET, instrument.frets)
        pitches = [note.pitch for note in self.notes if note.pitch is not None]
        if not pitches:
            return floor, top
        return max(floor, min(pitches) - WIDER), min(max(top, *pitches), max(pitches) + WIDER)

    def sketch(
        self,
        notes: Sequence[Note],
        pitches: Sequence[int],
        start: Place | None = None,
        chords: Sequence[tuple[Place, str]] = (),
    ) -> Sketch:
        """Notes with other pitches, judged."""
        given = iter(pitches)
        filled = tuple(note if note.pitch is None else note._replace(pitch=next(given)) for note in notes)
        at = start or self.span.start
        return Sketch(at, filled, points(self.melody(filled, at)), tuple(chords))


def with_long_end(theme: Theme, notes: Sequence[Note], start: Place) -> tuple[Note, ...]:
    """A rhythm with a last note that rests: a beat and a half from a beat on, or a beat from a strong one on."""
    kept = list(notes)
    while kept[-1].pitch is None:
        kept.pop()
    end = kept[-1].at + kept[-1].length
    while len(kept) > 2 and not _rests(theme, start, kept[-1].at, end):
        if (
            end - kept[-2].at
            > 3 * theme.under.pulse(start, moved(theme.score, start, kept[-2].at), Fraction(1)).beat
        ):
            break
        kept.pop()
    last = kept.pop()
    return (*kept, Note(last.at, end - last.at, last.pitch or 0))


def _rests(theme: Theme, start: Place, at: Fraction, end: Fraction) -> bool:
    """Whether a note from a moment to the end of a rhythm is a rest for the ear."""
    pulse = theme.under.pulse(start, moved(theme.score, start, at), end - at)
    beats = (end - at) / pulse.beat
    return pulse.strength > 0 and beats >= (1 if pulse.strength > 1 else Fraction(3, 2))
