"""Time as one line: taking stretches out of the measures and laying others in, over bar lines."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.score.model import Event, Measure, Reached, Score
from tabterm.score.operations.draft import Draft, commit
from tabterm.score.operations.spelling import spell

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.score.metre import Metre
    from tabterm.score.place import Place, Span

Piece = tuple[Event | None, Fraction]
"""An event (None: silence) and its length in quarters; its own duration is kept where it fits."""

Slot = tuple[Fraction, Fraction, Event | None]
"""Onset in a measure, length, and event (None: silence, to be spelled)."""


def rests(offset: Fraction, length: Fraction, metre: Metre) -> list[Event]:
    """Rests that fill a stretch of a measure."""
    return [Event(duration=duration) for duration in spell(offset, length, metre)]


def rest_measure(metre: Metre) -> Measure:
    """A measure in which nothing sounds."""
    return Measure(events=tuple(rests(Fraction(0), metre.length, metre)))


def continued(event: Event) -> Event:
    """What goes on of an event after a cut: its notes tied (dead notes rest), without a new attack."""
    notes = tuple(
        note.with_(tied=True, reached=Reached.STRUCK, slide_in=None, bend=None)
        for note in event.notes
        if not note.muted
    )
    if not notes:
        return Event(duration=event.duration)
    return Event(duration=event.duration, notes=notes, tremolo=event.tremolo)


def respelled(event: Event, offset: Fraction, length: Fraction, metre: Metre) -> list[Event]:
    """An event made to last `length` from `offset`: itself, or tied pieces of it."""
    if event.length == length:
        return [event]
    first, *others = spell(offset, length, metre)
    rest_of_it = continued(event)
    return [event.with_(duration=first), *(rest_of_it.with_(duration=duration) for duration in others)]


def flatten(score: Score, span: Span) -> list[Piece]:
    """The events of a span as pieces; notes tied over from one event to the next become one piece.

    An event cut by the start of the span comes in as its continuation, cut by the end as its beginning.
    """
    pieces: list[Piece] = []
    last = min(span.end.measure, len(score.measures) - 1)
    for index in range(span.start.measure, last + 1):
        low = span.start.offset if index == span.start.measure else Fraction(0)
        high = span.end.offset if index == span.end.measure else score.measures[index].length
        for onset, event in score.measures[index].timed():
            start, end = max(onset, low), min(onset + event.length, high)
            if start >= end:
                continue
            piece = event if start == onset else continued(event)
            before, length = pieces[-1] if pieces else (None, Fraction(0))
            if before is not None and _goes_on(before, piece):
                pieces[-1] = (before, length + end - start)
            else:
                pieces.append((piece, end - start))
    return pieces


def _goes_on(before: Event, event: Event) -> bool:
    return (
        bool(event.notes)
        and all(note.tied for note in event.notes)
        and [(note.course, note.fret) for note in before.notes]
        == [(note.course, note.fret) for note in event.notes]
        and not event.stroke
        and before.tremolo == event.tremolo
        and not any(note.bend or note.slide_out for note in (*before.notes, *event.notes))
    )


def total(pieces: Iterable[Piece]) -> Fraction:
    """Length of pieces together."""
    return sum((length for _, length in pieces), Fraction(0))


def with_room(score: Score, place: Place, length: Fraction) -> Score:
    """The score with measures of rest put behind it until `length` from `place` fits."""
    room = sum((measure.length for measure in score.measures[place.measure :]), Fraction(0)) - place.offset
    metre = score.metres[-1]
    added = []
    while room < length:
        added.append(rest_measure(metre))
        room += metre.length
    return Score(head=score.head, measures=(*score.measures, *added)) if added else score


def splice(score: Score, place: Place, pieces: Sequence[Piece]) -> Score:
    """Lay pieces over the time from `place` on; measures are added where they run past the end.

    An event that began before is cut short; what is left of one that reaches past the pieces is silence.
    Silence is spelled together with the rests next to it.
    """
    score = with_room(score, place, total(pieces))
    drafts: list[Draft] = []
    queue = [piece for piece in pieces if piece[1] > 0]
    index, offset = place.measure, place.offset
    while queue:
        measure = score.measures[index]
        laid, end = _lay(queue, offset, measure.length)
        slots = [*_before(measure, offset), *laid, *_behind(measure, end)]
        drafts.append(Draft.of(measure, _spelled(slots, score.metres[index])))
        index, offset = index + 1, Fraction(0)
    return commit(score, place.measure, len(drafts), drafts) if drafts else score


def _lay(queue: list[Piece], offset: Fraction, end: Fraction) -> tuple[list[Slot], Fraction]:
    """Take from the queue what fits up to the end of the measure; the rest of a cut piece stays in it."""
    laid: list[Slot] = []
    while queue and offset < end:
        event, length = queue.pop(0)
        part = min(length, end - offset)
        laid.append((offset, part, event))
        if part < length:
            queue.insert(0, (None if event is None else continued(event), length - part))
        offset += part
    return laid, offset


def _before(measure: Measure, offset: Fraction) -> list[Slot]:
    """What stands before an offset; an event that lasts over it is cut."""
    return [
        (onset, min(event.length, offset - onset), event)
        for onset, event in measure.timed()
        if onset < offset
    ]


def _behind(measure: Measure, offset: Fraction) -> list[Slot]:
    """What stands from an offset on; the rest of an event that began before it is silence."""
    slots: list[Slot] = []
    for onset, event in measure.timed():
        end = onset + event.length
        if onset >= offset:
            slots.append((onset, event.length, event))
        elif end > offset:
            slots.append((offset, end - offset, None))
    return slots


def _spelled(slots: list[Slot], metre: Metre) -> list[Event]:
    """The events of slots; silence takes the rests next to it in."""
    events: list[Event] = []
    silent_from: Fraction | None = None
    for number, (onset, length, event) in enumerate(slots):
        beside_silence = silent_from is not None or _silence_follows(slots, number)
        if event is None or (event.is_rest and (beside_silence or event.length != length)):
            silent_from = onset if silent_from is None else silent_from
            continue
        if silent_from is not None:
            events.extend(rests(silent_from, onset - silent_from, metre))
            silent_from = None
        events.extend(respelled(event, onset, length, metre))
    if silent_from is not None:
        onset, length, _ = slots[-1]
        events.extend(rests(silent_from, onset + length - silent_from, metre))
    return events


def _silence_follows(slots: list[Slot], number: int) -> bool:
    """Whether only rests stand between a slot and the next silence."""
    for _, _, event in slots[number + 1 :]:
        if event is None:
            return True
        if not event.is_rest:
            return False
    return False
