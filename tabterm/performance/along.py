"""A performance along a recording: every beat when the recording plays it, however its tempo drifts."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.performance.model import Passage

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from fractions import Fraction

    from tabterm.performance.model import Performance, Record
    from tabterm.performance.timing import PlayedMeasure

    Moment = Callable[[int, Fraction], float]
    """When an offset of a measure is heard in a recording, in its own seconds."""

JOINED_S = 0.001  #: s; tuned here: parts of a recording nearer to each other than this go on without a seam


def along(performance: Performance, record: Record, moment: Moment) -> Performance:
    """The performance in the time of a recording, which is heard with it.

    The count-in goes at the tempo of what it leads into.

    Args:
        performance: At about the tempo of the recording at its `speed`.
        record: The recording; what is heard of it follows from what is played.
        moment: When an offset of a measure is heard in it.

    Raises:
        ScoreError: The measures do not go forward in the recording.
    """
    corners = [_corners(measure, moment) for measure in performance.measures]
    first = corners[0]
    pace = (first[-1][1] - first[0][1]) / record.speed / (first[-1][0] - first[0][0])
    start_s = performance.measures[0].start_s
    at_s = start_s * pace
    here, there = ([0.0, start_s], [0.0, at_s]) if start_s > 0 else ([0.0], [0.0])
    passages = list[Passage]()
    for each in corners:
        from_s, to_s = each[0][1], each[-1][1]
        if from_s < 0:
            raise ScoreError("the recording begins later", hint="play from a later measure")
        if passages and abs(passages[-1].to_s - from_s) < JOINED_S:
            passages[-1] = passages[-1]._replace(to_s=to_s)
        else:
            passages.append(Passage(at_s, from_s, to_s))
        for (_, before_s), (time_s, heard_s) in pairwise(each):
            if heard_s <= before_s:
                raise ScoreError("the bar lines in the recording are not in order", hint="put them in order first")
            at_s += (heard_s - before_s) / record.speed
            here.append(time_s)
            there.append(at_s)
    return _retimed(performance, _Way(here, there), replace(record, passages=tuple(passages)))


def _corners(measure: PlayedMeasure, moment: Moment) -> list[tuple[float, float]]:
    """When its beats come, and its end, in the performance and in the recording."""
    return [(measure.at(offset), moment(measure.index, offset)) for offset in _offsets(measure)]


def _offsets(measure: PlayedMeasure) -> Iterator[Fraction]:
    yield measure.low
    for beat in measure.metre.beats:
        if measure.low < beat - measure.missing < measure.high:
            yield beat - measure.missing
    yield measure.high


class _Way:
    """From one time line to another, straight between two corners and beyond the outer ones."""

    def __init__(self, here: Sequence[float], there: Sequence[float]) -> None:
        self._here, self._there = here, there

    def __call__(self, time_s: float) -> float:
        here, there = self._here, self._there
        at = min(max(bisect_right(here, time_s) - 1, 0), len(here) - 2)
        pace = (there[at + 1] - there[at]) / (here[at + 1] - here[at])
        return there[at] + (time_s - here[at]) * pace


def _retimed(performance: Performance, way: _Way, record: Record) -> Performance:
    return replace(
        performance,
        messages=tuple(each._replace(time_s=max(way(each.time_s), 0.0)) for each in performance.messages),
        plucks=tuple(
            each._replace(
                start_s=max(way(each.start_s), 0.0),
                end_s=max(way(each.end_s), 0.0),
                curve=tuple((way(time_s), cents) for time_s, cents in each.curve),
            )
            for each in performance.plucks
        ),
        marks=tuple(each._replace(time_s=way(each.time_s)) for each in performance.marks),
        measures=tuple(_measure(each, way) for each in performance.measures),
        lead_s=way(performance.lead_s),
        duration_s=way(performance.duration_s),
        record=record,
    )


def _measure(measure: PlayedMeasure, way: _Way) -> PlayedMeasure:
    start_s, end_s = way(measure.start_s), way(measure.end_s)
    return replace(measure, start_s=start_s, quarter_s=(end_s - start_s) / float(measure.quarters(measure.high)))
