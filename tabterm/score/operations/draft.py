"""Drafts: measures under construction, healed and built into a score."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tabterm.score.model import Event, Measure, Reached, Score, has_partner

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.model import Note


@dataclass(slots=True)
class Draft:
    """A measure to be: the one it comes from, its new events, and other fields that change."""

    origin: Measure
    events: list[Event]
    changes: dict[str, Any]

    @classmethod
    def of(cls, measure: Measure, events: Sequence[Event] | None = None, **changes: Any) -> Draft:
        """A draft of a measure, with other events if given."""
        return cls(measure, list(measure.events if events is None else events), changes)

    def build(self) -> Measure:
        """The measure; the origin itself where nothing differs.

        Chord symbols that lie past the end, and a source line of another length, are dropped.
        """
        events = tuple(self.events)
        changes = {name: value for name, value in self.changes.items() if value != getattr(self.origin, name)}
        if not changes and _same(events, self.origin.events):
            return self.origin
        length = sum((event.length for event in events), Fraction(0))
        if length != self.origin.length:
            chords = changes.get("chords", self.origin.chords)
            changes["chords"] = tuple(mark for mark in chords if mark.offset < length)
            source = changes.get("source", self.origin.source)
            if sum((event.duration.length for event in source), Fraction(0)) != length:
                changes["source"] = ()
        return self.origin.with_(events=events, **changes)


def _same(one: tuple[Event, ...], other: tuple[Event, ...]) -> bool:
    return len(one) == len(other) and all(a is b or a == b for a, b in zip(one, other, strict=True))


def heal_event(before: Event | None, event: Event) -> Event:
    """The event with every tie or slur that has nothing to come from struck instead."""
    if all(has_partner(before, event, note) for note in event.notes):
        return event
    return event.with_(
        notes=tuple(note if has_partner(before, event, note) else struck(note) for note in event.notes)
    )


def struck(note: Note) -> Note:
    """The note, struck."""
    return note.with_(tied=False, reached=Reached.STRUCK)


def commit(score: Score, first: int, count: int, drafts: Sequence[Draft]) -> Score:
    """The score with `count` measures from `first` replaced by drafts; ties and slurs are healed.

    The first event after the drafts is healed too. Where nothing differs the score itself is returned.
    """
    before = score.measures[first - 1].events[-1] if first > 0 else None
    after = score.measures[first + count :]
    built: list[Measure] = []
    for draft in drafts:
        for number, event in enumerate(draft.events):
            draft.events[number] = before = heal_event(before, event)
        built.append(draft.build())
    if after:
        healed = heal_event(before, after[0].events[0])
        if healed is not after[0].events[0]:
            after = (after[0].with_(events=(healed, *after[0].events[1:])), *after[1:])
    old = score.measures[first:]
    new = (*built, *after)
    if len(new) == len(old) and all(a is b for a, b in zip(new, old, strict=True)):
        return score
    return Score(head=score.head, measures=(*score.measures[:first], *new))


def change_event(score: Score, index: int, number: int, event: Event) -> Score:
    """The score with one event of a measure replaced by another of the same length."""
    measure = score.measures[index]
    if measure.events[number] == event:
        return score
    events = (*measure.events[:number], event, *measure.events[number + 1 :])
    return commit(score, index, 1, [Draft.of(measure, events)])


def change_measure(score: Score, index: int, **changes: Any) -> Score:
    """The score with some fields, not the events, of one measure changed."""
    return commit(score, index, 1, [Draft.of(score.measures[index], **changes)])
