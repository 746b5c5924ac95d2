"""Putting measures in and out, and barring the music anew."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Event, Measure, Score, SourceEvent
from tabterm.score.operations.draft import Draft, commit, heal_event
from tabterm.score.operations.spelling import spell
from tabterm.score.operations.timeline import flatten, rest_measure, splice
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.duration import Duration
    from tabterm.score.metre import Metre


def insert_measures(score: Score, index: int, count: int = 1) -> Score:
    """Put measures of rest before the one at `index` (behind the last, at the end)."""
    metre = score.metres[min(index, len(score.metres) - 1)] if index else score.head.metre
    if index < len(score.measures) and score.measures[index].metre is not None and index:
        metre = score.metres[index - 1]
    return commit(score, index, 0, [Draft.of(rest_measure(metre)) for _ in range(count)])


def delete_measures(score: Score, first: int, last: int) -> Score:
    """Take measures out, both ends included; the only measure of a score becomes a rest.

    Metre, key and tempo go on as they were behind the gap.
    """
    if first == 0 and last >= len(score.measures) - 1:
        return commit(score, 0, len(score.measures), [Draft.of(rest_measure(score.head.metre))])
    count = last - first + 1
    if last + 1 >= len(score.measures):
        return commit(score, first, count, [])
    follower = score.measures[last + 1]
    carried = {
        name: getattr(follower, name) or _last_set(score.measures[first : last + 1], name)
        for name in ("metre", "key", "tempo")
    }
    return commit(score, first, count + 1, [Draft.of(follower, **carried)])


def _last_set(measures: Sequence[Measure], name: str) -> Any:
    return next((value for measure in reversed(measures) if (value := getattr(measure, name))), None)


def set_pickup(score: Score, length: Fraction | None) -> Score:
    """Make the first measure a pickup of `length` quarters, or (None) a whole measure.

    A whole first measure whose front is silent loses that front; one that begins with a note keeps it, and a
    pickup of rests is put before it. A pickup is made longer or whole by rests in front, and shorter by
    losing its front.

    Raises:
        ScoreError: The length is none, or not shorter than a measure.
    """
    whole = score.metres[0].length
    if length is not None and not 0 < length < whole:
        raise ScoreError(f"a pickup of {length} quarters does not fit", hint=f"between 0 and {whole}")
    first = score.measures[0]
    wanted = whole if length is None else length
    if first.length == wanted:
        return commit(score, 0, 1, [Draft.of(first, short=length is not None)])
    if first.length < wanted:
        front = spell(whole - wanted, wanted - first.length, score.metres[0])
        events = [*(_rest(duration) for duration in front), *first.events]
        shifted = _shifted(first.chords, wanted - first.length)
        return commit(score, 0, 1, [Draft.of(first, events, short=length is not None, chords=shifted)])
    cut = first.length - wanted
    if not first.short and not all(event.is_rest for onset, event in first.timed() if onset < cut):
        rest = Draft.of(rest_measure(score.metres[0]))
        events = [_rest(duration) for duration in spell(whole - wanted, wanted, score.metres[0])]
        return commit(score, 0, 0, [Draft(rest.origin, events, {"short": True})])
    kept = flatten(Score(head=score.head, measures=(first,)), Span(Place(0, cut), Place(1)))
    events = [_rest(duration) for duration in spell(whole - wanted, wanted, score.metres[0])]
    shorter = commit(score, 0, 1, [Draft.of(first, events, short=True, chords=_shifted(first.chords, -cut))])
    return splice(shorter, Place(0), kept)


def _rest(duration: Duration) -> Event:
    return Event(duration=duration)


def _shifted(marks: Sequence[ChordMark], by: Fraction) -> tuple[ChordMark, ...]:
    return tuple(
        ChordMark(offset=mark.offset + by, symbol=mark.symbol) for mark in marks if mark.offset + by >= 0
    )


def set_metre(score: Score, index: int, metre: Metre) -> Score:
    """Bar the music anew from a measure on, up to the next change of metre.

    Notes over the new bar lines are tied; the last measure is filled with rests. Marks go to the measure in
    which their place comes to lie, chord symbols to their moment.
    """
    if score.metres[index] == metre:
        return score
    end = next(
        (number for number in range(index + 1, len(score.measures)) if score.measures[number].metre),
        len(score.measures),
    )
    keep_short = score.measures[index].short and score.measures[index].length < metre.length
    start = index + 1 if keep_short else index
    old = score.measures[start:end]
    pieces = flatten(score, Span(Place(start), Place(end)))
    starts = [sum((measure.length for measure in old[:number]), Fraction(0)) for number in range(len(old))]
    whole = sum((measure.length for measure in old), Fraction(0))
    count = -(-whole // metre.length)
    frames = [rest_measure(metre).with_(**_marks_of(old, starts, number, metre)) for number in range(count)]
    head = score.head.with_(metre=metre) if index == 0 else score.head
    change = {"metre": None if index == 0 or metre == score.metres[index - 1] else metre}
    before = list(score.measures[:start])
    if keep_short:
        before[index] = before[index].with_(**change)
    elif frames:
        frames[0] = frames[0].with_(**change)
    after = list(score.measures[end:])
    if after and after[0].metre == metre:
        after[0] = after[0].with_(metre=None)
    barred = Score(head=head, measures=(*before, *frames, *_healed_after(frames, before, after)))
    return splice(barred, Place(start), pieces) if frames else barred


def _healed_after(frames: list[Measure], before: list[Measure], after: list[Measure]) -> list[Measure]:
    """What follows, its first event struck where it came from music that is yet to be laid in."""
    if not after:
        return after
    last = (frames or before)[-1].events[-1] if frames or before else None
    first = heal_event(last, after[0].events[0])
    return [after[0].with_(events=(first, *after[0].events[1:])), *after[1:]]


def _marks_of(old: Sequence[Measure], starts: list[Fraction], number: int, metre: Metre) -> dict[str, Any]:
    """The fields of one new measure, from the old measures that begin or end in it."""
    low, high = number * metre.length, (number + 1) * metre.length
    marks: dict[str, Any] = {}
    chords: dict[Fraction, ChordMark] = {}
    for measure, start in zip(old, starts, strict=True):
        if low <= start < high:
            for name in ("section", "remark", "key", "tempo", "repeat_start", "endings"):
                if getattr(measure, name):
                    marks.setdefault(name, getattr(measure, name))
        if low < start + measure.length <= high:
            if measure.repeat_times:
                marks["repeat_times"] = measure.repeat_times
            marks["barline"] = measure.barline
        for mark in measure.chords:
            if low <= start + mark.offset < high:
                offset = start + mark.offset - low
                chords.setdefault(offset, ChordMark(offset=offset, symbol=mark.symbol))
    marks["chords"] = tuple(mark for _, mark in sorted(chords.items()))
    marks["source"] = _source_between(old, starts, low, metre)
    return marks


def _source_between(
    old: Sequence[Measure], starts: list[Fraction], low: Fraction, metre: Metre
) -> tuple[SourceEvent, ...]:
    """The source line of one new measure; events over its bar lines are written in parts."""
    if not any(measure.source for measure in old):
        return ()
    parts: list[SourceEvent] = []
    at, high = low, low + metre.length
    while at < high:
        number = bisect_right(starts, at) - 1
        end, pitches = _source_at(old[number], at - starts[number])
        stop = min(starts[number] + end, high)
        stop = stop if stop > at else high
        parts += [
            SourceEvent(duration=duration, pitches=pitches) for duration in spell(at - low, stop - at, metre)
        ]
        at = stop
    return tuple(parts)


def _source_at(measure: Measure, offset: Fraction) -> tuple[Fraction, tuple[int, ...]]:
    """End and pitches of the source event at an offset; silence where there is no source."""
    onset = Fraction(0)
    for event in measure.source:
        end = onset + event.duration.length
        if onset <= offset < end:
            return end, event.pitches
        onset = end
    return measure.length, ()
