"""Putting measures in and taking them out, the pickup, another metre; their original line goes with them."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError
from tabterm.score.kinds import Break
from tabterm.score.line import Moment
from tabterm.score.model import Measure, Score
from tabterm.score.operations.barring import Stretch, filled
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.operations.timeline import Filling, Mould, divided, flatten, lay, rest_measure, rests
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.score.metre import Metre
    from tabterm.score.model import ChordMark
    from tabterm.score.source import SourceEvent


_CARRIED = ("metre", "key", "tempo", "school")
"""What a measure sets for itself and those after it."""


def insert_measures(score: Score, index: int, count: int = 1) -> Score:
    """Put measures of rest before the one at `index` (behind the last, at the end)."""
    metre = score.metres[index - 1] if index else score.head.metre
    return commit(score, index, 0, [MeasureDraft.of(rest_measure(metre)) for _ in range(count)])


def delete_measures(score: Score, first: int, last: int) -> Score:
    """Take measures out, both ends included; the only measure of a score becomes a rest.

    Metre, key and tempo go on as they were behind the gap.
    """
    count = last - first + 1
    if count >= len(score.measures):
        return commit(score, 0, count, [MeasureDraft.of(rest_measure(score.head.metre))])
    if last + 1 == len(score.measures):
        return commit(score, first, count, [])
    follower = MeasureDraft.of(score.measures[last + 1], **_carried(score, first, last + 1))
    return commit(score, first, count + 1, [follower])


def replace_measures(score: Score, first: int, count: int, measures: Sequence[Measure]) -> Score:
    """Put other measures, at least one, in the place of `count` from `first` on.

    Raises:
        ScoreError: The metre would no longer be that of the measures behind them.
    """
    return commit(score, first, count, [MeasureDraft.of(measure) for measure in measures])


def swap_measures(score: Score, first: int, count: int, *, chords: bool = False) -> Score:
    """Exchange the music of `count` measures from `first` on with that of as many behind them.

    Chord symbols stay with their measures unless `chords`; all other marks stay.

    Raises:
        ScoreError: There are not as many, or two of them differ in length.
    """
    one, other = (score.measures[start : start + count] for start in (first, first + count))
    if len(other) < count:
        raise ScoreError("no measures follow to swap with", hint="go to an earlier measure")
    if any(a.length != b.length for a, b in zip(one, other, strict=True)):
        raise ScoreError(
            "measures of different lengths cannot be swapped", hint="swap whole measures of one metre"
        )
    drafts = [
        MeasureDraft.of(measure, music.events, chords=music.chords if chords else measure.chords)
        for measure, music in zip((*one, *other), (*other, *one), strict=True)
    ]
    return commit(score, first, 2 * count, drafts)


def _carried(score: Score, first: int, index: int) -> dict[str, Any]:
    """What the measure at `index` has to set once it stands at `first`."""
    removed = score.measures[first : index + 1]
    carried = {name: _last_set(removed, name) for name in _CARRIED}
    if first > 0:
        before = zip(_CARRIED, (score.metres, score.keys, score.tempos, score.schools), strict=True)
        carried |= {name: None for name, values in before if values[first - 1] == carried[name]}
    return carried


def _last_set(measures: Sequence[Measure], name: str) -> Any:
    return next((value for measure in reversed(measures) if (value := getattr(measure, name))), None)


def set_pickup(score: Score, length: Fraction | None) -> Score:
    """Make the first measure a pickup of `length` quarters, or (None) a whole measure.

    A first measure that is whole loses its front where that is silent; where it is not, a pickup of rests is
    put before it. A pickup is made longer, or whole, by rests in front, and shorter by losing its front.

    Raises:
        ScoreError: The length is none, or not shorter than a measure.
    """
    first, metre = score.measures[0], score.metres[0]
    if length is not None and not 0 < length < metre.length:
        raise ScoreError(
            f"a pickup of {length} quarters does not fit", hint=f"more than 0, less than {metre.length}"
        )
    short, wanted = length is not None, metre.length if length is None else length
    lead = metre.length - wanted
    added = wanted - first.length
    events = rests(lead, wanted, metre)
    if added < 0 and not first.short and any(event.notes for onset, event in first.timed() if onset < -added):
        return commit(score, 0, 0, [MeasureDraft.of(Measure(events=tuple(events), short=True))])
    if added == 0:
        return commit(score, 0, 1, [MeasureDraft.of(first, short=short)])
    chords = {
        name: tuple(
            mark.with_(offset=mark.offset + added) for mark in getattr(first, name) if mark.offset + added >= 0
        )
        for name in ("chords", "heard_chords")
    }
    source = source_laid([(added, first)], wanted, metre, lead)
    blank = first.with_(events=tuple(events), short=short, source=source, **chords)
    front: list[Filling] = [(None, max(added, Fraction(0)))]
    kept = flatten(score, Span(Place(0, max(-added, Fraction(0))), Place(1)))
    return commit(score, 0, 1, lay([Mould(blank, metre, lead)], Fraction(0), [*front, *kept]))


def set_metre(score: Score, index: int, metre: Metre) -> Score:
    """Bar the music anew from a measure on, up to the next change of metre.

    Notes over the new bar lines are tied; the last measure is filled with rests. A pickup stays one. Marks
    go to the measure in which their place comes to lie, chord symbols and the source line to their moment.
    """
    if score.metres[index] == metre:
        return score
    count = len(score.measures)
    end = next((number for number in range(index + 1, count) if score.measures[number].metre), count)
    first = score.measures[index]
    is_pickup = first.short and first.length < metre.length
    start = index + 1 if is_pickup else index
    drafts = [MeasureDraft.of(first)] if is_pickup else []
    moulds = [Mould(blank, metre) for blank in _blanks(score.measures[start:end], metre)]
    drafts += lay(moulds, Fraction(0), flatten(score, Span(Place(start), Place(end))))
    new_here = index > 0 and metre != score.metres[index - 1]
    drafts[0].changes["metre"] = metre if new_here else None
    if end < count and score.measures[end].metre == metre:
        drafts.append(MeasureDraft.of(score.measures[end], metre=None))
        end += 1
    head = score.head.with_(metre=metre) if index == 0 else None
    return commit(score, index, end - index, drafts, head)


def _blanks(old: Sequence[Measure], metre: Metre) -> Iterator[Measure]:
    """Measures of rest in the new metre that span the old ones and bear their marks."""
    starts = list(accumulate((measure.length for measure in old), initial=Fraction(0)))
    blank = rest_measure(metre)
    for number in range(-(-starts[-1] // metre.length)):
        low = number * metre.length
        high = low + metre.length
        first = bisect_right(starts, low) - 1
        sounding = []
        for start, measure in zip(starts[first:], old[first:], strict=False):
            if start >= high:
                break
            sounding.append((start - low, measure))
        yield blank.with_(**_marks(sounding, metre))


def _marks(sounding: Sequence[tuple[Fraction, Measure]], metre: Metre) -> dict[str, Any]:
    """The fields of a new measure from the old measures that sound in it, given by offset.

    Words that meet in one measure are joined. Of keys and tempos the last is kept, since it goes on.
    """
    begun = [measure for start, measure in sounding if start >= 0]
    ended = [measure for start, measure in sounding if start + measure.length <= metre.length]
    marks: dict[str, Any] = {
        "endings": sounding[0][1].endings,
        "repeat_start": any(measure.repeat_start for measure in begun),
        "repeat_times": max((measure.repeat_times for measure in ended), default=0),
        "section": _joined((measure.section for measure in begun), 40),
        "remark": _joined((measure.remark for measure in begun), 500),
        "break_before": max(
            (measure.break_before for measure in begun if measure.break_before),
            key=list(Break).index,
            default=None,
        ),
        **{name: _chords(sounding, name, metre) for name in ("chords", "heard_chords")},
        "source": source_laid(sounding, metre.length, metre),
    }
    for name in ("key", "tempo"):
        marks[name] = next((value for old in reversed(begun) if (value := getattr(old, name))), None)
    return marks | ({"barline": ended[-1].barline} if ended else {})


def _chords(sounding: Sequence[tuple[Fraction, Measure]], name: str, metre: Metre) -> tuple[ChordMark, ...]:
    """The chord symbols of old measures, set or heard, at their moments in the new one."""
    marks = {start + mark.offset: mark for start, measure in sounding for mark in getattr(measure, name)}
    inside = sorted(offset for offset in marks if 0 <= offset < metre.length)
    return tuple(marks[offset].with_(offset=offset) for offset in inside)


def _joined(words: Iterable[str], longest: int) -> str:
    return " / ".join(word for word in words if word)[:longest]


def source_laid(
    sounding: Sequence[tuple[Fraction, Measure]], length: Fraction, metre: Metre, lead: Fraction = Fraction(0)
) -> tuple[SourceEvent, ...]:
    """The source line of a new measure, silent where the old ones have none; () without any.

    Args:
        sounding: The old measures with their offsets from the start of the new one.
        length: Quarters of the new measure.
        metre: Its metre.
        lead: Where in the metre it begins.
    """
    if not any(measure.source for _, measure in sounding):
        return ()
    made = filled(Moment, _stretches(sounding), length, metre, lead)
    return tuple(moment.source for _, moments in made for moment in moments)


def _stretches(sounding: Sequence[tuple[Fraction, Measure]]) -> Iterator[Stretch[Moment]]:
    """The source row of measures, from the start of the new one; what began before it is tied to it."""
    for start, measure in sounding:
        for offset, written in measure.timed_source():
            begins, moment = start + offset, Moment.of(written)
            end = begins + moment.length
            if begins < 0 < end:
                begins, moment = Fraction(0), divided(moment)[1]
            if begins >= 0:
                yield Stretch(begins, end - begins, moment, written.duration)
