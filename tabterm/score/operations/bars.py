"""Putting measures in and taking them out; the pickup."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Measure, Score
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.operations.source import source_laid
from tabterm.score.operations.timeline import Filling, Mould, flatten, lay, rest_measure, rests
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    chords = tuple(
        ChordMark(offset=mark.offset + added, symbol=mark.symbol)
        for mark in first.chords
        if mark.offset + added >= 0
    )
    source = source_laid([(added, first)], wanted, metre, lead)
    blank = first.with_(events=tuple(events), short=short, chords=chords, source=source)
    front: list[Filling] = [(None, max(added, Fraction(0)))]
    kept = flatten(score, Span(Place(0, max(-added, Fraction(0))), Place(1)))
    return commit(score, 0, 1, lay([Mould(blank, metre, lead)], Fraction(0), [*front, *kept]))
