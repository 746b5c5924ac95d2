"""Reaches: the distance between two fingers along the neck."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from tabterm.hand.bands import VERDICTS, Verdict, band_of, effort, judge
from tabterm.instrument import stretch_mm

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.hand.effort import Stop
    from tabterm.hand.neck import Neck
    from tabterm.score.model import Note


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
