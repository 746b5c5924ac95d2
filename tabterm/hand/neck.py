"""An instrument under a player's hand: where the frets are, how far fingers reach and what a grip asks, in mm."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from functools import cached_property, lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.bands import CRAMPED, REFERENCE_SPAN_MM, VERDICTS, Verdict, band_of, effort, judge
from tabterm.instrument import fret_distance_mm, stretch_mm

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.hand.player import Player
    from tabterm.hand.stops import Stop
    from tabterm.hand.terms import Weights
    from tabterm.instrument import Instrument
    from tabterm.score.model import Head, Note
    from tabterm.score.profile import HandProfile


LOWEST_FRAME = 1  #: fret; common practice, no source: half position
"""The hand is never behind the nut."""

#: mm; measured here (python -m tests.hand.violin FOLDER): 5th percentiles of TNUA (Jen et al. 2021), rounded
LOWEST_MM = {
    2: 13.0,
    3: 36.0,  #: mm; from TNUA (Jen et al. 2021), then changed by us: was 32.9, now 36, because (not noted)
    4: 46.0,
}
"""Nearest that a finger of the reference hand comes to the index finger of its frame without crowding."""

ROOMY_FRETS = {2: 1, 3: 3, 4: 5}  #: frets; common practice, no source: half, whole and whole steps above finger 1
"""From so many frets above the index finger on a finger is not crowded: closed scales go up the whole neck."""

#: mm; measured here (python -m tests.hand.violin FOLDER): 5th percentiles of TNUA (Jen et al. 2021), 11.6 between
#: fingers 2 and 3 and 9.8 between 3 and 4
BREADTH_MM = 10.0
"""Room that a fingertip needs beside another on one course."""

#: mm a point; from TNUA (Jen et al. 2021), then changed by us: was 17.5 and 12 (1.2 and 2.7 points a semitone in
#: first position), now 24 and 12, because frets 1 and 2 are both the index finger's own there
BACK_MM, FORTH_MM = 24.0, 12.0
"""How far the index finger reaches back or forth out of its own place for one point. Its own in first position
are frets 1 and 2 (D. Grisman, "Position Studies", mandozine.com; 99.6 % and 96.1 % of ten violinists)."""

#: s, s a mm; common practice, no source: 50 mm in 0.1 s is about the quickest that is clean
SHIFT_START_S, SHIFT_S_PER_MM = 0.06, 0.0008
"""Time that a shift takes: to let go and set down, and for the way."""

MOST_BACK = 1.5  #: times; tuned here
"""The index finger goes so many times `BACK_MM` out of its place at most."""

EASY_PART = 0.1  #: times; tuned here
"""What is left of the points of a finger out of its place, up to comfortable: there it lies easily."""

#: times; tuned here: 4 for the little finger at first, 3.5 since, so that first position is kept at any tempo; for
#: the ring finger 1 at first, 0.75 since, because methods use it like the middle one at home (see `away`)
WEAKNESS = {3: 0.75, 4: 3.5}
"""How weak the ring and the little finger are where they are weak; a strong finger is 0."""

OTHER_WEAKNESS = 2.0  #: times; tuned here
"""How weak any other finger is that the player calls weak."""


HOME_FRETS = 3  #: frets; common practice, no source: a fourth over the open course in first position
"""The ring finger's own place is so far above the index finger's, on a neck where that is comfortable."""


@dataclass(frozen=True, eq=False)
class Neck:
    """An instrument and who plays it; equal ones are the same object (see `neck_of`)."""

    instrument: Instrument
    player: Player

    @cached_property
    def hand(self) -> HandProfile:
        """The player's hand."""
        return self.player.hand

    @cached_property
    def weights(self) -> Weights:
        """What the player's hand finds hard."""
        return self.player.weights

    @cached_property
    def has_habits(self) -> bool:
        """Whether anything was learnt of the player, so that amounts of it are worth counting."""
        return bool(self.weights.habits)

    @cached_property
    def scale(self) -> float:
        """The hand's span over that of the reference hand."""
        return self.hand.span_mm / REFERENCE_SPAN_MM

    @cached_property
    def _mm(self) -> dict[int, float]:
        length = self.instrument.scale_length_mm
        return {fret: fret_distance_mm(length, fret) for fret in range(61)}

    def mm(self, fret: int) -> float:
        """Distance of a fret from the nut."""
        return self._mm[fret]

    def last_within(self, mm: float) -> int:
        """The last fret of the instrument that is no farther than this from the nut."""
        return min(bisect_right(self._distances, mm) - 1, self.instrument.frets)

    @cached_property
    def _distances(self) -> tuple[float, ...]:
        return tuple(self._mm.values())

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
            return points if abs(reach) <= MOST_BACK * BACK_MM else CRAMPED
        points = self.pair(1, finger, max(mm, 0.0))
        return EASY_PART * min(points, 1.0) + max(points - 1.0, 0.0)

    def crowding(self, finger: int, frets: int, mm: float) -> float:
        """Breadths of a finger that are missing between it and the index finger of its frame.

        None are where it is as many frets above as its step of a scale takes, however narrow these are.
        """
        if finger == 1 or frets >= ROOMY_FRETS[finger]:
            return 0.0
        return max(LOWEST_MM[finger] * self.scale - mm, 0.0) / BREADTH_MM

    def is_home(self, frets: int, mm: float) -> bool:
        """Whether the ring finger has its own place so many frets and mm above the frame's."""
        return frets == HOME_FRETS and self.pair(1, 3, mm) <= 1.0

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
        """How weak a finger of this hand is; 0 for a strong one."""
        return WEAKNESS.get(finger, OTHER_WEAKNESS) if finger in self.hand.weak else 0.0


def neck_of(head: Head, player: Player) -> Neck:
    """The neck of a score under a player's hand, or under the score's own."""
    return _neck(head.instrument, player.at(head))


_neck = lru_cache(maxsize=32)(Neck)  #: necks; implementation limit


@dataclass(frozen=True, slots=True)
class Reach:
    """The widest pair of fingers of a grip.

    Attributes:
        fingers: The two fingers, lower first.
        frets: Their frets.
        reach_mm: Distance along the neck; negative when the fingers cross.
        comfortable_mm: Up to where this pair is comfortable for the player's hand.
        extreme_mm: Up to where it is possible at all.
        verdict: What it asks.
        points: The same as effort (see `tabterm.hand.bands.effort`).
    """

    fingers: tuple[int, int]
    frets: tuple[int, int]
    reach_mm: float
    comfortable_mm: float
    extreme_mm: float
    verdict: Verdict
    points: float

    @property
    def rank(self) -> tuple[int, float]:
        """For comparing: the verdict, then the part of the possible that is used."""
        return VERDICTS.index(self.verdict), abs(self.reach_mm) / self.extreme_mm


def stopped(notes: Iterable[Note]) -> list[Note]:
    """The notes that need a finger."""
    return [note for note in notes if note.fret > 0]


def reach_between(neck: Neck, low: tuple[int, int], high: tuple[int, int]) -> Reach:
    """The reach between two (finger, fret); the fingers must differ."""
    (one, first), (other, second) = sorted((low, high))
    reach_mm = stretch_mm(neck.instrument.scale_length_mm, first, second)
    span_mm = neck.hand.span_mm
    band = band_of((one, other), span_mm)
    verdict = judge((one, other), reach_mm, span_mm)
    points = effort((one, other), reach_mm, span_mm)
    return Reach((one, other), (first, second), reach_mm, band.comfortable_mm, band.extreme_mm, verdict, points)


def widest_of(neck: Neck, stops: Iterable[Stop]) -> Reach | None:
    """The widest reach between any two fingers that are down; None where there are no two at different frets."""
    grip = sorted({(stop.finger, stop.fret) for stop in stops if stop.finger and stop.fret})
    reaches = [
        reach_between(neck, low, high)
        for low, high in combinations(grip, 2)
        if low[0] != high[0] and low[1] != high[1]
    ]
    return max(reaches, key=lambda reach: reach.rank, default=None)


def less(reach: Reach, travel_mm: float, span_mm: float) -> Reach:
    """A reach from which the hand takes off what it travels meanwhile."""
    reach_mm = max(reach.reach_mm - travel_mm, 0.0)
    points = effort(reach.fingers, reach_mm, span_mm)
    return replace(reach, reach_mm=reach_mm, verdict=judge(reach.fingers, reach_mm, span_mm), points=points)
