"""Packing measures into systems of the screen's width; plain numbers, no screen."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class System:
    """A row of measures.

    Attributes:
        first: Index of its first measure.
        xs: Where each measure begins, in cells from the left end of the system.
        end: Where the last one ends.
    """

    first: int
    xs: tuple[int, ...]
    end: int

    @property
    def last(self) -> int:
        """Index of its last measure."""
        return self.first + len(self.xs) - 1

    def __contains__(self, index: int) -> bool:
        return self.first <= index <= self.last


def pack(widths: Sequence[int], room: int) -> tuple[System, ...]:
    """Put as many measures on each system as fit; one that is wider than the room has its own."""
    systems: list[System] = []
    first, x = 0, 0
    xs: list[int] = []
    for index, width in enumerate(widths):
        if xs and x + width > room:
            systems.append(System(first, tuple(xs), x))
            first, xs, x = index, [], 0
        xs.append(x)
        x += width
    if xs:
        systems.append(System(first, tuple(xs), x))
    return tuple(systems)


def system_of(systems: Sequence[System], index: int) -> int:
    """The number of the system that a measure is on; past the end, the last."""
    return max(bisect_right(systems, index, key=lambda system: system.first) - 1, 0)
