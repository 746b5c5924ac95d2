"""The order in which measures are played: repeats and endings unrolled."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
