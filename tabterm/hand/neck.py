"""A neck under a hand: where the frets are and how far each finger reaches, in mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from tabterm.hand.bands import REFERENCE_SPAN_MM, effort
from tabterm.instrument import fret_distance_mm

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.score.model import Head
    from tabterm.score.profile import HandProfile

LOWEST_FRAME = -5
"""A hand far behind the nut, for a high finger that is set on a low fret."""

LOWEST_MM = {2: 13.0, 3: 36.0, 4: 46.0}
"""Nearest that a finger comes to the index finger of its frame without crowding: 5th percentiles of ten
violinists (computed from the TNUA data set, Jen et al. 2021), for the reference hand."""

BREADTH_MM = 10.0
"""Room that a fingertip needs beside another on one course (same percentiles)."""

BACK_MM, FORTH_MM = 24.0, 12.0
"""How far the index finger reaches back or forth out of its own place for one point. After the TNUA weights (1.2
and 2.7 for a semitone back and forth in first position, 19 and 18 mm), the way back eased: frets 1 and 2 are both
its own in first position (D. Grisman, "Position Studies", mandozine.com; 99.6 % and 96.1 % of ten violinists)."""

SHIFT_START_S, SHIFT_S_PER_MM = 0.06, 0.0008
"""Time that a shift takes: to let go and set down, and for the way (common practice, no source: 50 mm in 0.1 s
is about the quickest that is clean)."""

CRAMPED = 60.0
"""Points of what no hand does, so that a choice of the player's that asks it is still carried out."""


@dataclass(frozen=True, eq=False)
class Neck:
    """An instrument and the hand that plays it; equal ones are the same object (see `neck_of`)."""

    instrument: Instrument
    hand: HandProfile

    @cached_property
    def scale(self) -> float:
        """The hand's span over that of the reference hand."""
        return self.hand.span_mm / REFERENCE_SPAN_MM

    @cached_property
    def _mm(self) -> dict[int, float]:
        length = self.instrument.scale_length_mm
        return {fret: fret_distance_mm(length, fret) for fret in range(LOWEST_FRAME, 61)}

    def mm(self, fret: int) -> float:
        """Distance of a fret from the nut; frames behind the nut are negative."""
        return self._mm[fret]

    def pair(self, low: int, high: int, mm: float) -> float:
        """Points for two fingers down together, the lower number first, `mm` apart along the neck.

        Negative when they cross; see `tabterm.hand.bands.effort`.
        """
        return effort((low, high), mm, self.hand.span_mm)

    def stretch(self, finger: int, mm: float) -> float:
        """Points for a finger `mm` away from where its frame begins; inside the comfortable next to none."""
        if finger == 1:
            reach = mm / self.scale
            points = (reach / (BACK_MM if reach < 0 else FORTH_MM)) ** 2
            return points if abs(reach) <= 1.5 * BACK_MM else CRAMPED
        points = self.pair(1, finger, max(mm, 0.0))
        return 0.1 * min(points, 1.0) + max(points - 1.0, 0.0)

    def crowding(self, finger: int, mm: float) -> float:
        """Breadths of a finger that are missing between it and the index finger of its frame."""
        if finger == 1:
            return 0.0
        return max(LOWEST_MM[finger] * self.scale - mm, 0.0) / BREADTH_MM

    def shift_s(self, one: int, other: int) -> float:
        """Seconds that the hand needs from one frame to another; to the next fret it creeps without letting go."""
        start_s = SHIFT_START_S if abs(other - one) > 1 else 0.0
        return start_s + SHIFT_S_PER_MM * abs(self.mm(other) - self.mm(one))

    def pace(self, one: int, other: int) -> float:
        """Notes per second that two fingers do in turn, the lower number first."""
        return self._paces[one, other]

    @cached_property
    def _paces(self) -> dict[tuple[int, int], float]:
        return {
            (one, other): getattr(self.hand.speeds, f"fingers_{one}{other}")
            for one in range(1, 4)
            for other in range(one + 1, 5)
        }

    def weakness(self, finger: int) -> float:
        """1 for the ring finger and 3.5 for the little finger, where they are weak; another weak finger 2."""
        return {3: 1.0, 4: 3.5}.get(finger, 2.0) if finger in self.hand.weak else 0.0


def neck_of(head: Head) -> Neck:
    """The neck of a score."""
    return _neck(head.instrument, head.hand)


_neck = lru_cache(maxsize=32)(Neck)
