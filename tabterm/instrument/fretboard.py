"""Where the frets are: equal temperament on a string of a given length.

The rule is d(n) = S - S / 2^(n/12); the tests hold it against a published table of factors.
"""

from __future__ import annotations

import math


def fret_distance_mm(scale_length_mm: float, fret: float) -> float:
    """Distance from the nut to a fret; 0 is the nut, 12 half the string."""
    return scale_length_mm * (1.0 - math.exp2(-fret / 12.0))


def fret_gap_mm(scale_length_mm: float, fret: int) -> float:
    """Distance from the fret before (or the nut) to this one; raises ValueError for the nut itself."""
    if fret < 1:
        raise ValueError("the nut has no gap before it")
    return fret_distance_mm(scale_length_mm, fret) - fret_distance_mm(scale_length_mm, fret - 1)


def stretch_mm(scale_length_mm: float, low: int, high: int) -> float:
    """Distance along the neck between two frets; negative when `high` is nearer the nut."""
    return fret_distance_mm(scale_length_mm, high) - fret_distance_mm(scale_length_mm, low)
