"""Changing the metre: the same music between other bar lines."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from tabterm.score.model import ChordMark, Measure, Score
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.operations.source import source_laid
from tabterm.score.operations.timeline import Mould, flatten, lay, rest_measure
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.score.metre import Metre


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
    chords = {
        start + mark.offset: mark.symbol
        for start, measure in sounding
        for mark in measure.chords
        if 0 <= start + mark.offset < metre.length
    }
    marks: dict[str, Any] = {
        "endings": sounding[0][1].endings,
        "repeat_start": any(measure.repeat_start for measure in begun),
        "repeat_times": max((measure.repeat_times for measure in ended), default=0),
        "section": _joined((measure.section for measure in begun), 40),
        "remark": _joined((measure.remark for measure in begun), 500),
        "chords": tuple(ChordMark(offset=offset, symbol=chords[offset]) for offset in sorted(chords)),
        "source": source_laid(sounding, metre.length, metre),
    }
    for name in ("key", "tempo"):
        marks[name] = next((value for old in reversed(begun) if (value := getattr(old, name))), None)
    return marks | ({"barline": ended[-1].barline} if ended else {})


def _joined(words: Iterable[str], longest: int) -> str:
    return " / ".join(word for word in words if word)[:longest]
