"""The order in which measures are played, repeats and endings unrolled, and performances one after another."""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.performance.model import Performance, Pluck
    from tabterm.score.model import Measure, Score

MOST_MEASURES = 20_000  #: measures; implementation limit
"""No performance has more measures; a score whose repeats would give more is cut there."""


def playing_order(score: Score) -> tuple[int, ...]:
    """Indices of the measures as they are played; every measure is played at least once.

    Repeats are not nested: a repeat goes back to the last start of a repeat, or to the end of the repeat
    before it, or to the first measure. A measure with ending numbers is played in those passes only.
    """
    order: list[int] = []
    for passage in _passages(score.measures):
        endings = {index: score.measures[index].endings for index in passage}
        passes = max(_passes(score.measures[index]) for index in passage)
        for number in range(1, passes + 1):
            order += [index for index in passage if not endings[index] or number in endings[index]]
            if len(order) >= MOST_MEASURES:
                return tuple(order[:MOST_MEASURES])
    return tuple(order)


def _passages(measures: Sequence[Measure]) -> Iterator[range]:
    """The runs of measures that are played again as a whole, each with all its endings."""
    start = 0
    for index in range(1, len(measures)):
        before, measure = measures[index - 1], measures[index]
        closed = (before.repeat_times or before.endings) and not measure.endings
        if measure.repeat_start or closed:
            yield range(start, index)
            start = index
    yield range(start, len(measures))


def _passes(measure: Measure) -> int:
    return max(1, measure.repeat_times, *measure.endings)


def joined(performances: Sequence[Performance], *, loop_from: int = 0) -> Performance:
    """One performance of several, each beginning with its own count-in where the one before it ends.

    Args:
        performances: At least one, of the same instrument.
        loop_from: Number of the one whose music a loop goes back to.
    """
    if len(performances) == 1:
        return performances[0]
    starts_s = [0.0, *accumulate(each.duration_s for each in performances)]
    timed = list(zip(performances, starts_s, strict=False))
    return replace(
        performances[0],
        messages=tuple(
            message._replace(time_s=message.time_s + by_s) for each, by_s in timed for message in each.messages
        ),
        plucks=tuple(_later(pluck, by_s) for each, by_s in timed for pluck in each.plucks),
        marks=tuple(mark._replace(time_s=mark.time_s + by_s) for each, by_s in timed for mark in each.marks),
        measures=tuple(
            replace(measure, start_s=measure.start_s + by_s) for each, by_s in timed for measure in each.measures
        ),
        lead_s=starts_s[loop_from] + performances[loop_from].lead_s,
        duration_s=starts_s[-1],
    )


def _later(pluck: Pluck, by_s: float) -> Pluck:
    curve = tuple((time_s + by_s, cents) for time_s, cents in pluck.curve)
    return pluck._replace(start_s=pluck.start_s + by_s, end_s=pluck.end_s + by_s, curve=curve)
