"""What joins notes on the page: ties, slurs and slides as pairs, beams inside a beat, brackets over tuplets."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import field
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.score.duration import tuplet_groups

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.score.kinds import Reached
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Note


LEVELS = {8: 1, 16: 2, 32: 3, 64: 4, 128: 5, 256: 6}
"""Beams of each note value."""

Beams = dict[int, list[str]]
"""By number of the event: what each of its beams does, the outermost first."""


def beams_of(measure: Measure, metre: Metre, lead: Fraction) -> Beams:
    """Beams that join the notes of each beat; rests part them."""
    beams: Beams = {}
    for run in _runs(measure, metre, lead):
        levels = [LEVELS[measure.events[number].duration.value] for number in run]
        for place, number in enumerate(run):
            before = levels[place - 1] if place else 0
            after = levels[place + 1] if place + 1 < len(run) else 0
            beams[number] = [_beam(level, before, after) for level in range(1, levels[place] + 1)]
    return beams


def _beam(level: int, before: int, after: int) -> str:
    """What a beam of one level does between notes of so many levels."""
    if before >= level:
        return "continue" if after >= level else "end"
    if after >= level:
        return "begin"
    return "backward hook" if before else "forward hook"


def _runs(measure: Measure, metre: Metre, lead: Fraction) -> Iterator[list[int]]:
    """Numbers of neighbouring events, two or more, that share a beat and can be beamed."""
    run: list[int] = []
    beat = -1
    for number, (offset, event) in enumerate(measure.timed()):
        own, start, _ = metre.beat_at(lead + offset)
        fits = not event.is_rest and event.duration.value in LEVELS
        if run and (not fits or own != beat or lead + offset == start):
            if len(run) > 1:
                yield run
            run = []
        beat = own
        if fits:
            run.append(number)
    if len(run) > 1:
        yield run


def tuplets_of(events: Sequence[Event]) -> dict[int, list[str]]:
    """By number of the event: `start`, `stop` or both, where a tuplet begins and ends."""
    marks: dict[int, list[str]] = {}
    for first, last in tuplet_groups([event.duration for event in events]):
        marks.setdefault(first, []).append("start")
        marks.setdefault(last, []).append("stop")
    return marks


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
