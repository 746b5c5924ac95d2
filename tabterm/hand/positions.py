"""Positions of a scale or chord: the hand over a few frets, no open course, a finger for each note."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.bands import is_strained
from tabterm.hand.proposals import with_fingers
from tabterm.score.duration import EIGHTH, QUARTER
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.tempo import Tempo

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.neck import Neck
    from tabterm.harmony.pools import Pool

SLOW = Tempo(60.0)  #: quarters a minute; tuned here
"""Fingers are those of an easy tempo."""


@dataclass(frozen=True, slots=True)
class Position:
    """A closed shape: every tone of a pool between its lowest and its highest note, under one hand.

    Attributes:
        first: Its lowest fret.
        last: Its highest fret.
        stops: Course, fret and finger of each note, upwards.
        degree: What its lowest note is to the pool.
    """

    first: int
    last: int
    stops: tuple[tuple[int, int, int], ...]
    degree: str

    def __str__(self) -> str:
        return f"frets {self.first} to {self.last}, from {self.degree} under finger {self.stops[0][2]}"


@lru_cache(maxsize=64)
def positions(neck: Neck, pool: Pool, highest: int = 12) -> tuple[Position, ...]:
    """The positions of a pool, up the neck to a fret, that this hand takes without a shift or strain."""
    found = (_position(neck, pool, first, highest) for first in range(1, highest + 1))
    return tuple(each for each in found if each is not None)


def _position(neck: Neck, pool: Pool, first: int, highest: int) -> Position | None:
    last = first
    while last < min(highest, neck.instrument.frets) and not _is_far(neck, first, last + 1):
        last += 1
    spots = _spots(neck, pool, range(first, last + 1))
    pitches = [neck.instrument.pitch(*spot) for spot in spots]
    whole = bool(spots) and tuple(pitches) == pool.pitches(pitches[0], pitches[-1])
    courses = {course for course, _ in spots}
    if not whole or len(courses) < neck.instrument.course_count or first not in {fret for _, fret in spots}:
        return None
    stops = _fingered(neck, pool, spots)
    if stops is None:
        return None
    frets = [fret for _, fret in spots]
    return Position(min(frets), max(frets), stops, pool.degree(pitches[0]) or "")


def _is_far(neck: Neck, low: int, high: int) -> bool:
    return is_strained((1, 4), neck.mm(high) - neck.mm(low), neck.hand.span_mm)


def _spots(neck: Neck, pool: Pool, frets: range) -> list[tuple[int, int]]:
    """Course and fret of each tone within some frets, upwards; a pitch on two courses stands on the higher one."""
    places: dict[int, tuple[int, int]] = {}
    for course in range(neck.instrument.course_count, 0, -1):
        for fret in frets:
            pitch = neck.instrument.pitch(course, fret)
            if pool.degree(pitch) is not None:
                places[pitch] = (course, fret)
    return [places[pitch] for pitch in sorted(places)]


def _fingered(neck: Neck, pool: Pool, spots: Sequence[tuple[int, int]]) -> tuple[tuple[int, int, int], ...] | None:
    """The fingers that the hand's search gives to the notes one after the other; None where it has to shift."""
    events = [
        Event(duration=EIGHTH, notes=(Note(course=course, fret=fret, course_set=True),)) for course, fret in spots
    ]
    if len(events) % 2:
        events[-1] = events[-1].with_(duration=QUARTER)
    count = (len(events) + 1) // 2
    head = Head(instrument=neck.instrument, tempo=SLOW, metre=Metre(count, 4))
    played = with_fingers(Score(head=head, measures=(Measure(events=tuple(events)),)), neck.player)
    stops = tuple(
        (note.course, note.fret, note.proposed_finger or 0)
        for each in played.measures[0].events
        for note in each.notes
    )
    chromatic = any({each, (each + 1) % 12, (each + 2) % 12} <= {*pool.tones} for each in pool.tones)
    return stops if all(_goes_on(*pair, chromatic=chromatic) for pair in pairwise(stops)) else None


def _goes_on(one: tuple[int, int, int], other: tuple[int, int, int], *, chromatic: bool) -> bool:
    """Whether the hand does not shift between two notes: a finger each, but for half steps in a row."""
    same_course, (fret, finger) = one[0] == other[0], other[1:]
    slides = chromatic and finger == one[2] and fret - one[1] == 1
    return not same_course or finger > one[2] or slides
