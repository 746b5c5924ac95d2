"""Breaking: which measures make a system, for the whole score at once, so that all are spaced alike.

A break costs nothing where a phrase ends.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.phrases import phrase_ranges

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.score.model import Score
    from tabterm.sheet.spacing import Spaced

OFF_PHRASE, LONE = 6.0, 15.0
"""What a break inside a phrase costs, and a line of one measure that is stretched by half; tuned here."""

LOOSE, TIGHT, MANY = 6.0, 60.0, 1.2
"""What it costs to stretch a system by its width beyond a quarter, to press it to half, and for each measure over
`EASY` by their square; tuned here."""

EASY, MOST = 5, 12
"""Measures in a system that are found again when one looks up, and the most there may be; tuned here."""


def break_costs(score: Score, indices: Sequence[int]) -> list[float]:
    """What a break after each of some measures costs."""
    ends = {last for _, last in phrase_ranges(score)}
    return [0.0 if index in ends else OFF_PHRASE for index in indices]


def systems(
    measures: Sequence[Spaced],
    costs: Sequence[float],
    room: Callable[[int], float],
    forced: Callable[[int], bool] = lambda _number: False,
) -> list[range]:
    """Numbers of the measures of each system.

    Args:
        measures: All of them.
        costs: Of a break after each.
        room: Width of the line that begins with a measure, by its number, without what stands at its beginning.
        forced: Whether the line has to end after a measure, by its number.
    """
    count = len(measures)
    best, starts = [0.0] + [float("inf")] * count, [0] * (count + 1)
    for first in range(count):
        if best[first] == float("inf"):
            continue
        width, line = 0.0, room(first)
        tight = 0.0
        for last in range(first, min(first + MOST, count)):
            width += measures[last].width
            tight += measures[last].shortest
            if tight > line and last > first:
                break
            price = _price(line / width, last + 1 - first, is_last=last + 1 == count) + costs[last]
            if best[first] + price < best[last + 1]:
                best[last + 1], starts[last + 1] = best[first] + price, first
            if forced(last):
                break
    found, end = [], count
    while end:
        found.append(range(starts[end], end))
        end = starts[end]
    return found[::-1]


def _price(stretch: float, size: int, *, is_last: bool) -> float:
    price = 0.5 + MANY * max(0, size - EASY) ** 2
    price += LONE if size == 1 and stretch > 1.5 and not is_last else 0.0
    if stretch < 1:
        return price + TIGHT * (1 / stretch - 1) ** 2
    return price if is_last else price + LOOSE * max(0.0, stretch - 1.25) ** 2
