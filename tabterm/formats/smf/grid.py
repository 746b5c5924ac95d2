"""Fitting onsets to a grid: beat by beat the coarsest one on which they lie."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

GRIDS = (1, 2, 4, 3, 8, 6)
"""Parts of a quarter, in the order in which they are tried: halves and quarters before thirds, then finer ones."""

TOLERANCE = 0.04
"""Quarters by which an onset may be off its grid: 20 ms at 120, and less than half of what parts a triplet from a
sixteenth."""


def fit(onsets: Iterable[float]) -> tuple[dict[float, Fraction], float]:
    """Each onset (in quarters) on the grid of its beat, and the mean distance that they were moved."""
    beats: dict[int, list[float]] = defaultdict(list)
    for onset in sorted(set(onsets)):
        beats[int(onset + TOLERANCE)].append(onset)
    fitted: dict[float, Fraction] = {}
    for beat, inside in beats.items():
        parts = _grid([onset - beat for onset in inside])
        for onset in inside:
            fitted[onset] = beat + Fraction(round((onset - beat) * parts), parts)
    moved = [abs(float(place) - onset) for onset, place in fitted.items()]
    return fitted, sum(moved) / len(moved) if moved else 0.0


def _grid(inside: list[float]) -> int:
    """Parts of the beat: the first grid on which all lie, or else the one that they are nearest to."""

    def off(parts: int) -> float:
        return max(abs(onset - round(onset * parts) / parts) for onset in inside)

    return next((parts for parts in GRIDS if off(parts) <= TOLERANCE), min(GRIDS, key=off))
