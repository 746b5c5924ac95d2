"""Drafts: measures under construction, healed and built into a score."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.judge import UnfitError
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Measure, Score
from tabterm.score.place import Place, Span
from tabterm.score.seams import has_partner

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from tabterm.score.line import Sounding
    from tabterm.score.model import Head, Note
    from tabterm.score.source import Tone
    from tabterm.values import Value


Struck = TypeVar("Struck", "Note", "Tone")


@dataclass(slots=True)
class MeasureDraft:
    """A measure to be: the one it comes from, its new events, and other fields that change."""

    origin: Measure
    events: list[Event]
    changes: dict[str, Any]

    @classmethod
    def of(cls, measure: Measure, events: Iterable[Event] | None = None, **changes: Any) -> MeasureDraft:
        """A draft of a measure, with other events if given."""
        return cls(measure, list(measure.events if events is None else events), changes)

    def build(self) -> Measure:
        """The measure; the origin itself where nothing differs."""
        events = tuple(self.events)
        changes = {name: value for name, value in self.changes.items() if value != getattr(self.origin, name)}
        if not changes and _same(events, self.origin.events):
            return self.origin
        return self.origin.with_(events=events, **changes)


def _same(one: Sequence[Value], other: Sequence[Value]) -> bool:
    return len(one) == len(other) and all(a is b or a == b for a, b in zip(one, other, strict=True))


def heal_event(before: Sounding | None, event: Sounding) -> Sounding:
    """The event with every tie or slur that has no note to start from struck instead."""
    if all(has_partner(before, event, note) for note in event.notes):
        return event
    return event.with_(
        notes=tuple(note if has_partner(before, event, note) else struck(note) for note in event.notes)
    )


def struck(note: Struck) -> Struck:
    """The note, struck."""
    return note.with_(tied=False, reached=Reached.STRUCK)


def commit(
    score: Score, first: int, count: int, drafts: Sequence[MeasureDraft], head: Head | None = None
) -> Score:
    """The score with `count` measures from `first` replaced by drafts, and another head if given.

    Ties and slurs are healed in the drafts and in the first event after them. Where nothing differs the
    score itself is returned.
    """
    before = score.measures[first - 1].events[-1] if first > 0 else None
    after = score.measures[first + count :]
    built: list[Measure] = []
    for draft in drafts:
        for number, event in enumerate(draft.events):
            draft.events[number] = before = heal_event(before, event)
        built.append(draft.build())
    unchanged = _same(built, score.measures[first : first + count])
    if after:
        healed = heal_event(before, after[0].events[0])
        if healed is not after[0].events[0]:
            after, unchanged = (after[0].with_(events=(healed, *after[0].events[1:])), *after[1:]), False
    if unchanged and (head is None or head == score.head):
        return score
    return Score(head=head or score.head, measures=(*score.measures[:first], *built, *after))


def change_event(score: Score, place: Place, event: Event) -> Score:
    """The score with the event that begins at `place` replaced by another of the same length."""
    measure = score.measures[place.measure]
    events = list(measure.events)
    events[measure.onsets.index(place.offset)] = event
    return commit(score, place.measure, 1, [MeasureDraft.of(measure, events)])


def change_measure(score: Score, index: int, **changes: Any) -> Score:
    """The score with some fields, not the events, of one measure changed."""
    return commit(score, index, 1, [MeasureDraft.of(score.measures[index], **changes)])


def map_events(score: Score, span: Span, change: Callable[[Place, Event], Event]) -> Score:
    """The score with every event that begins in a span changed, in order; lengths must stay."""
    last = min(span.end.measure, len(score.measures) - 1)
    drafts = [
        MeasureDraft.of(
            score.measures[index],
            [
                change(Place(index, offset), event) if Place(index, offset) in span else event
                for offset, event in score.measures[index].timed()
            ],
        )
        for index in range(span.start.measure, last + 1)
    ]
    return commit(score, span.start.measure, len(drafts), drafts)


@contextmanager
def refusing(message: str, *, hint: str = "", place: str = "") -> Iterator[None]:
    """Say in the player's words that a value cannot be: raises ScoreError for an UnfitError."""
    try:
        yield
    except UnfitError:
        raise ScoreError(message, hint=hint, place=place) from None
