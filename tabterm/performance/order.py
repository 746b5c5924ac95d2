"""The order in which measures are played: repeats and endings unrolled."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.score.model import Score

MOST_MEASURES = 20_000
"""No performance has more measures; a score whose repeats would give more is cut there."""


def playing_order(score: Score) -> tuple[int, ...]:
    """Indices of the measures as they are played.

    A repeat goes back to the last start of a repeat, or to the end of the repeat before it, or to the first
    measure. Measures with ending numbers are played only in those passes; behind the last ending counting
    starts anew. Repeats are not nested.
    """
    order: list[int] = []
    index, start, turn, in_ending = 0, 0, 1, False
    while index < len(score.measures) and len(order) < MOST_MEASURES:
        measure = score.measures[index]
        fresh = measure.repeat_start and index != start
        if fresh or (in_ending and not measure.endings):
            start, turn, in_ending = index, 1, False
        if measure.endings and turn not in measure.endings:
            index += 1
            continue
        order.append(index)
        in_ending = bool(measure.endings)
        if turn < measure.repeat_times:
            turn, index, in_ending = turn + 1, start, False
            continue
        if measure.repeat_times and not measure.endings:
            start, turn = index + 1, 1
        index += 1
    return tuple(order)
