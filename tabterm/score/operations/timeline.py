"""Time as one line: taking stretches out of the measures and laying others in, over bar lines."""

from __future__ import annotations

from collections import deque
from fractions import Fraction
from itertools import chain, groupby, repeat
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Measure, Score
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.operations.spelling import on_grid, spell
from tabterm.score.place import lead_in
from tabterm.values import field_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.score.duration import Duration
    from tabterm.score.line import Sounding
    from tabterm.score.metre import Metre
    from tabterm.score.model import Note
    from tabterm.score.place import Place, Span

Filling = tuple[Event | None, Fraction]
"""An event (None: silence) and its length in quarters; its own duration is kept where it fits."""

ATTACK: dict[str, Any] = {
    "stroke": None,
    "proposed_stroke": None,
    "accent": False,
    "staccato": False,
    "roll": None,
    "grace": (),
}
"""What an event without an attack of its own has not."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A stretch of a measure; `laid` when it comes from a filling, else it stood there before."""

    onset: Fraction
    length: Fraction
    event: Event | None
    laid: bool = False

    @property
    def is_silence(self) -> bool:
        """Free to be spelled anew: silence, or a rest that stood there before."""
        return self.event is None or (self.event.is_rest and not self.laid)

    @property
    def is_changed(self) -> bool:
        """Not an event with its own duration."""
        return self.event is None or self.event.length != self.length


@dataclass(frozen=True, slots=True)
class Mould:
    """A measure that fillings are laid into, its metre, and where in the metre its first event stands."""

    measure: Measure
    metre: Metre
    lead: Fraction = Fraction(0)

    def spell(self, offset: Fraction, length: Fraction) -> tuple[Duration, ...]:
        """Durations for a stretch of the measure."""
        return spell(self.lead + offset, length, self.metre)


def rests(offset: Fraction, length: Fraction, metre: Metre) -> list[Event]:
    """Rests that fill a stretch of a measure."""
    return [Event(duration=duration) for duration in spell(offset, length, metre)]


def rest_measure(metre: Metre) -> Measure:
    """A measure in which nothing sounds."""
    return Measure(events=tuple(rests(Fraction(0), metre.length, metre)))


def divided(event: Sounding) -> tuple[Sounding, Sounding]:
    """The event as the first, and as any later, of several tied parts (durations unchanged).

    The later part has no attack of its own: notes are tied, dead notes are silent. What belongs to the end
    of a note is left to the later part.
    """
    sounding = tuple(note for note in event.notes if not note.muted)
    if not sounding:
        return event, type(event)(duration=event.duration)
    first = event.with_(damp=False) if event.damp else event
    if any(note.slide_out for note in sounding):
        notes = tuple(note if note.muted else note.with_(slide_out=None) for note in event.notes)
        first = first.with_(notes=notes)
    later = tuple(note.with_(tied=True, reached=Reached.STRUCK, slide_in=None, bend=None) for note in sounding)
    unstruck = {name: value for name, value in ATTACK.items() if name in field_names(type(event))}
    return first, event.with_(notes=later, **unstruck)


def in_parts(event: Sounding, durations: Iterable[Duration]) -> list[Sounding]:
    """An event as tied parts of these durations."""
    parts: list[Sounding] = []
    *firsts, last = durations
    for duration in firsts:
        first, event = divided(event)
        parts.append(first.with_(duration=duration))
    parts.append(event.with_(duration=last))
    return parts


def flatten(score: Score, span: Span) -> list[Filling]:
    """The events of a span as fillings: tied parts of one note joined, rests as silence.

    An event cut by the start of the span comes in as its later part, cut by the end as its first.
    """
    fillings: list[Filling] = []
    last = min(span.end.measure, len(score.measures) - 1)
    for index in range(span.start.measure, last + 1):
        low = span.start.offset if index == span.start.measure else Fraction(0)
        high = span.end.offset if index == span.end.measure else score.measures[index].length
        for onset, event in score.measures[index].timed():
            start, end = max(onset, low), min(onset + event.length, high)
            if start < end:
                _append(fillings, event if start == onset else divided(event)[1], end - start)
    return fillings


def _append(fillings: list[Filling], event: Event, length: Fraction) -> None:
    """Put an event behind fillings, or into the last one where it only goes on."""
    before, so_far = fillings[-1] if fillings else (None, Fraction(0))
    if event.is_rest:
        joins = so_far > 0 and before is None
        joined = None
    else:
        joins = before is not None and _goes_on(before, event)
        joined = _with_end(before, event) if before is not None and joins else event
    if joins:
        fillings.pop()
    fillings.append((joined, length + so_far if joins else length))


def _goes_on(before: Event, event: Event) -> bool:
    """Whether an event is what `divided` makes of the one before, whatever the program proposes for it."""
    attacked = event.stroke or event.accent or event.staccato or event.roll or event.grace
    return (
        not (attacked or before.damp)
        and before.tremolo == event.tremolo
        and len(before.notes) == len(event.notes)
        and all(_holds(one, other) for one, other in zip(before.notes, event.notes, strict=True))
    )


def _holds(before: Note, note: Note) -> bool:
    return (
        note.tied
        and (note.course, note.fret, note.ring, note.vibrato)
        == (before.course, before.fret, before.ring, before.vibrato)
        and note.finger in (None, before.finger)
        and not (note.bend or note.slide_in or note.muted or before.muted or before.slide_out)
    )


def _with_end(before: Event, event: Event) -> Event:
    """The event before with what stands at the end of the one that it joins."""
    before = before.with_(damp=True) if event.damp else before
    ends = [note.slide_out for note in event.notes]
    if not any(ends):
        return before
    pairs = zip(before.notes, ends, strict=True)
    return before.with_(notes=tuple(note.with_(slide_out=end) for note, end in pairs))


def splice(score: Score, place: Place, fillings: Iterable[Filling]) -> Score:
    """Lay fillings over the time from `place` on; measures are added where they run past the end.

    An event that began before is cut short; what is left of one that reaches past the fillings is silence.
    Silence is spelled together with the rests next to it, a rest among the fillings as it is.
    """
    start = place.measure
    standing = (
        Mould(measure, metre, lead_in(score, index))
        for index, (measure, metre) in enumerate(
            zip(score.measures[start:], score.metres[start:], strict=True), start
        )
    )
    metre = score.metres[-1]
    drafts = lay(chain(standing, repeat(Mould(rest_measure(metre), metre))), place.offset, fillings)
    return commit(score, start, len(drafts), drafts) if drafts else score


def lay(moulds: Iterable[Mould], offset: Fraction, fillings: Iterable[Filling]) -> list[MeasureDraft]:
    """Drafts of as many moulds as the fillings fill, from an offset in the first one."""
    queue = deque(filling for filling in fillings if filling[1] > 0)
    drafts = []
    for mould in moulds:
        if not queue:
            break
        if not offset and _is_silent(queue[0], mould.measure):
            queue[0] = (None, queue[0][1] - mould.measure.length)
            drafts.append(MeasureDraft.of(mould.measure))
            if not queue[0][1]:
                queue.popleft()
            continue
        laid = _take(queue, offset, mould.measure.length)
        end = laid[-1].onset + laid[-1].length if laid else offset
        slots = [*_before(mould.measure, offset), *laid, *_behind(mould.measure, end)]
        drafts.append(MeasureDraft.of(mould.measure, _spelled(slots, mould)))
        offset = Fraction(0)
    return drafts


def _is_silent(filling: Filling, measure: Measure) -> bool:
    """Whether a filling leaves a measure as it is: silence over all of one that is silent."""
    return filling[0] is None and filling[1] >= measure.length and all(event.is_rest for event in measure.events)


def _take(queue: deque[Filling], offset: Fraction, end: Fraction) -> list[Slot]:
    """Take from the queue what fits up to the end of the measure; the rest of a cut filling stays in it."""
    laid = []
    while queue and offset < end:
        event, length = queue.popleft()
        part = min(length, end - offset)
        if part < length:
            event, later = divided(event) if event is not None else (None, None)
            queue.appendleft((later, length - part))
        laid.append(Slot(offset, part, event, laid=True))
        offset += part
    return laid


def _before(measure: Measure, offset: Fraction) -> list[Slot]:
    """What stands before an offset; an event that lasts over it is cut."""
    return [
        Slot(onset, min(event.length, offset - onset), event) for onset, event in measure.timed() if onset < offset
    ]


def _behind(measure: Measure, offset: Fraction) -> list[Slot]:
    """What stands from an offset on; the rest of an event that began before it is silence."""
    slots = []
    for onset, event in measure.timed():
        end = onset + event.length
        if onset >= offset:
            slots.append(Slot(onset, event.length, event))
        elif end > offset:
            slots.append(Slot(offset, end - offset, None))
    return slots


def _spelled(slots: Iterable[Slot], mould: Mould) -> Iterator[Event]:
    """The events of slots: whatever changed its length in parts, silence with the rests next to it."""
    for is_silence, group in groupby(slots, key=lambda slot: slot.is_silence):
        run = list(group)
        if is_silence and any(slot.is_changed for slot in run):
            yield from _filled(run[0].onset, run[-1].onset + run[-1].length, mould)
            continue
        for slot in run:
            if slot.event is not None and slot.is_changed:
                yield from in_parts(slot.event, mould.spell(slot.onset, slot.length))
            elif slot.event is not None:
                yield slot.event


def _filled(start: Fraction, end: Fraction, mould: Mould) -> Iterator[Event]:
    """Rests from `start` to `end`; beside the notes of a tuplet its members keep their values."""
    if not (on_grid(start) and on_grid(end)):
        for onset, event in mould.measure.timed():
            if event.duration.tuplet and start <= onset and onset + event.length <= end:
                yield from map(_rest, mould.spell(start, onset - start))
                yield _rest(event.duration)
                start = onset + event.length
    yield from map(_rest, mould.spell(start, end - start))


def _rest(duration: Duration) -> Event:
    return Event(duration=duration)
