"""Ties, hammer-ons, pull-offs and slides as pairs: where each begins and where it ends."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.kinds import Reached
    from tabterm.score.model import Event, Measure, Note

NotePlace = tuple[int, int, int, int]
"""Measure, event, number of the grace note (-1: the event's own notes) and course."""


@dataclass(slots=True)
class Ends:
    """What ends and begins at a note.

    Attributes:
        tie_start: It is held into the next event.
        starts: (how the next note is reached, number of the pair).
        stops: The same for how this note is reached.
    """

    tie_start: bool = False
    starts: list[tuple[Reached, int]] = field(default_factory=list)
    stops: list[tuple[Reached, int]] = field(default_factory=list)


def spans_of(measures: Sequence[Measure]) -> dict[NotePlace, Ends]:
    """The ends at every note that has any; a pair's number is the course of the note that is reached."""
    ends: dict[NotePlace, Ends] = defaultdict(Ends)
    before: tuple[tuple[int, int], Event] | None = None
    last: list[tuple[NotePlace, Note]] = []
    for place, event in _events(measures):
        for note in event.notes:
            if note.tied and before is not None:
                ends[*before[0], -1, note.course].tie_start = True
        for at, notes in _moments(place, event):
            for note in notes:
                if note.slurred:
                    _pair(ends, last, (*at, note.course), note)
            last = [((*at, note.course), note) for note in notes]
        before = place, event
    return ends


def _events(measures: Sequence[Measure]) -> Iterator[tuple[tuple[int, int], Event]]:
    for index, measure in enumerate(measures):
        for number, event in enumerate(measure.events):
            yield (index, number), event


def _moments(place: tuple[int, int], event: Event) -> Iterator[tuple[tuple[int, int, int], Sequence[Note]]]:
    """The grace notes of an event one after the other, then its notes."""
    for number, note in enumerate(event.grace):
        yield (*place, number), (note,)
    yield (*place, -1), event.notes


def _pair(ends: dict[NotePlace, Ends], last: list[tuple[NotePlace, Note]], place: NotePlace, note: Note) -> None:
    """Begin at the note before on the same course, or else at the highest one before."""
    ends[place].stops.append((note.reached, note.course))
    partners = [each for each, before in last if before.course == note.course] or [each for each, _ in last]
    if partners:
        ends[partners[0]].starts.append((note.reached, note.course))
