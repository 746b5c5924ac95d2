"""Questions about a score: what sounds where, what comes next."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.score.kinds import Barline
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.model import Event, Measure, Note, Score, Signs


def end_of(score: Score) -> Place:
    """The place after the last measure."""
    return Place(len(score.measures))


def move_by(score: Score, place: Place, length: Fraction) -> Place:
    """The place a length later, over bar lines; past the end it is `end_of(score)`."""
    index, offset = place.measure, place.offset + length
    while index < len(score.measures):
        whole = score.measures[index].length
        if offset < whole:
            return Place(index, offset)
        index, offset = index + 1, offset - whole
    return end_of(score)


def distance(score: Score, start: Place, end: Place) -> Fraction:
    """Length of the time from one place to a later one."""
    measures = score.measures[start.measure : end.measure]
    return sum((measure.length for measure in measures), Fraction(0)) - start.offset + end.offset


def event_at(score: Score, place: Place) -> tuple[Place, Event] | None:
    """The event that sounds or rests at a place, with its onset; None past the end."""
    if place.measure >= len(score.measures):
        return None
    measure = score.measures[place.measure]
    if place.offset >= measure.length:
        return None
    number = bisect_right(measure.onsets, place.offset) - 1
    return Place(place.measure, measure.onsets[number]), measure.events[number]


def next_event(score: Score, place: Place) -> tuple[Place, Event] | None:
    """The first event that begins after a place, or None."""
    for index in range(place.measure, len(score.measures)):
        measure = score.measures[index]
        number = bisect_right(measure.onsets, place.offset) if index == place.measure else 0
        if number < len(measure.events):
            return Place(index, measure.onsets[number]), measure.events[number]
    return None


def previous_event(score: Score, place: Place) -> tuple[Place, Event] | None:
    """The last event that begins before a place, or None."""
    for index in range(min(place.measure, len(score.measures) - 1), -1, -1):
        measure = score.measures[index]
        number = bisect_left(measure.onsets, place.offset) if index == place.measure else len(measure.events)
        if number:
            return Place(index, measure.onsets[number - 1]), measure.events[number - 1]
    return None


def events_in(score: Score, span: Span) -> Iterator[tuple[Place, Event]]:
    """Every event that begins in a span, in order."""
    last = min(span.end.measure, len(score.measures) - 1)
    for index in range(span.start.measure, last + 1):
        for offset, event in score.measures[index].timed():
            if Place(index, offset) in span:
                yield Place(index, offset), event


def event_before(score: Score, place: Place) -> Event | None:
    """The event right before the one that begins at a place, over the bar line; None at the start."""
    found = previous_event(score, place)
    return None if found is None else found[1]


def tied_on(score: Score, place: Place, course: int) -> Iterator[tuple[Place, Event, Note]]:
    """The events after the one at `place` into which its note on a course is tied, one after the other."""
    while (found := next_event(score, place)) is not None:
        place, event = found
        note = event.on_course(course)
        if note is None or not note.tied:
            return
        yield place, event, note


def attack_of(score: Score, place: Place) -> tuple[Place, Event] | None:
    """The event that the one at a place goes on from when all its notes are tied; itself where they are not."""
    found = event_at(score, place)
    while found is not None and found[1].notes and all(note.tied for note in found[1].notes):
        found = previous_event(score, found[0])
    return found


def pieces_of(score: Score, place: Place) -> list[tuple[Place, Event]]:
    """The event that begins at a place, and those after it that are nothing but tied to it."""
    pieces = [found] if (found := event_at(score, place)) is not None else []
    while pieces and (found := next_event(score, pieces[-1][0])) is not None:
        if not found[1].notes or not all(note.tied for note in found[1].notes):
            break
        pieces.append(found)
    return pieces


def whole_length(score: Score, place: Place) -> Fraction:
    """How long the event that begins at a place lasts with all that is tied to it, in quarters."""
    return sum((event.length for _, event in pieces_of(score, place)), Fraction(0))


def music(measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """Measures without what is proposed: equal where the player has written the same."""
    return tuple(measure.with_(events=tuple(map(written, measure.events))) for measure in measures)


def written(event: Event) -> Event:
    """An event without what is proposed."""
    notes, grace = (
        tuple(note.with_(proposed_finger=None) for note in notes) for notes in (event.notes, event.grace)
    )
    return event.with_(proposed_stroke=None, proposed_tremolo=False, notes=notes, grace=grace)


def passages(measures: Sequence[Signs]) -> Iterator[range]:
    """The runs of measures that are played again as a whole, each with all its endings."""
    start = 0
    for index in range(1, len(measures)):
        before, measure = measures[index - 1], measures[index]
        closed = (before.repeat_times or before.endings) and not measure.endings
        if measure.repeat_start or closed:
            yield range(start, index)
            start = index
    yield range(start, len(measures))


def after_double_bar(measures: Sequence[Signs], passage: range) -> int | None:
    """The measure behind the last double bar line before the repeat of a passage that begins without a sign.

    None where the passage begins with one, is not repeated, or has no double bar line in it.
    """
    end = next((index for index in passage if measures[index].repeat_times), None)
    if end is None or measures[passage.start].repeat_start:
        return None
    before = range(passage.start, end)
    lines = [index for index in before if measures[index].barline is not Barline.SINGLE]
    return next((index + 1 for index in reversed(lines) if not measures[index].endings), None)
