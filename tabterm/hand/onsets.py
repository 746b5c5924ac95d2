"""The score as the left hand meets it: phrases of onsets, with the time that the hand has before each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.leisure import give_way
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.kinds import Stroke
    from tabterm.score.model import Event, Measure, Note, Score

FREE_S = 0.5  #: s; common practice, no source: at 0.8 mm/ms it would cross the neck of a mandolin twice
"""A rest as long as this ends a phrase: the hand has time to go anywhere, at no effort (common practice, no
source; at 0.8 mm/ms it would cross the neck of a mandolin twice)."""

GRACE_S = 0.08  #: s; common practice, no source
"""Time that a grace note takes, in seconds."""


@dataclass(frozen=True, slots=True)
class Onset:
    """What begins at one moment: the notes of an event, or one of its grace notes.

    Attributes:
        place: Onset of the event.
        grace: Number of the grace note, or None for the event itself.
        event: The event.
        notes: Its notes, or the grace note.
        gap_s: Seconds since the onset before.
        rest_s: Seconds of rest right before.
        let_go: Part of the note before that sounds on: 1, or less where it is cut short.
        opens: A section begins here.
    """

    place: Place
    grace: int | None
    event: Event
    notes: tuple[Note, ...]
    gap_s: float
    rest_s: float
    let_go: float
    opens: bool

    @property
    def stroke(self) -> Stroke | None:
        """The stroke shown."""
        return self.event.stroke_shown if self.event.takes_stroke else None


Phrase = tuple[Onset, ...]
"""Onsets between two borders that are free for the hand."""


class Start(NamedTuple):
    """Where a phrase begins, and what the hand did before.

    Attributes:
        place: Onset of its first event.
        rest_s: Seconds of rest right before.
        since_s: Seconds since the onset before.
        before: The event that sounded last, or None.
    """

    place: Place = Place(0)
    rest_s: float = 0.0
    since_s: float = 0.0
    before: Event | None = None


BEGIN = Start()
"""Before the first note."""


def walk(score: Score, start: Start = BEGIN) -> Iterator[tuple[Start, Phrase]]:
    """The phrases of a score from a start on, each with its own start: parted by rests of at least `FREE_S`."""
    phrase: list[Onset] = []
    begin, rest_s, since_s, before = start
    for index in range(begin.measure, len(score.measures)):
        give_way()
        measure = score.measures[index]
        quarter_s = 60.0 / score.tempos[index].quarters_per_minute
        for offset, event in measure.timed():
            if index == begin.measure and offset < begin.offset:
                continue
            length_s = float(event.length) * quarter_s
            if event.is_rest:
                rest_s += length_s
            else:
                place = Place(index, offset)
                if phrase and rest_s >= FREE_S:
                    yield start, tuple(phrase)
                    phrase = []
                if not phrase:
                    start = Start(place, rest_s, since_s, before)
                phrase.extend(_onsets(place, event, measure, before, since_s, rest_s))
                rest_s, since_s, before = 0.0, 0.0, event
            since_s += length_s
    if phrase:
        yield start, tuple(phrase)


def _onsets(
    place: Place, event: Event, measure: Measure, before: Event | None, since_s: float, rest_s: float
) -> Iterator[Onset]:
    """The grace notes of an event, taken from the time before it, and the event."""
    count = len(event.grace)
    grace_s = min(GRACE_S, since_s / (count + 1)) if count and before is not None else GRACE_S
    let_go = 0.5 if before is not None and before.staccato else 1.0
    opens = bool(measure.section) and not place.offset
    first_s = max(since_s - count * grace_s, grace_s) if count else since_s
    for number, note in enumerate(event.grace):
        if number == 0:
            yield Onset(place, number, event, (note,), first_s, rest_s, let_go, opens)
        else:
            yield Onset(place, number, event, (note,), grace_s, 0.0, 1.0, opens=False)
    if count:
        yield Onset(place, None, event, event.notes, grace_s, 0.0, 1.0, opens=False)
    else:
        yield Onset(place, None, event, event.notes, since_s, rest_s, let_go, opens)
