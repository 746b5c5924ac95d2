"""Reaches: the distance between fingers that are down together, and the best way to hold them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, product
from typing import TYPE_CHECKING

from tabterm.hand.bands import VERDICTS, Verdict, band_of, judge
from tabterm.instrument import stretch_mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.score.model import Head, Note

FINGERS = (1, 2, 3, 4)


@dataclass(frozen=True, slots=True)
class Reach:
    """The widest pair of fingers of a grip.

    Attributes:
        fingers: The two fingers, lower first; where the player has set none, those that serve best.
        frets: Their frets.
        reach_mm: Distance along the neck; negative when the fingers cross.
        comfortable_mm: Up to where this pair is comfortable for the player's hand.
        extreme_mm: Up to where it is possible at all.
        verdict: What it asks.
    """

    fingers: tuple[int, int]
    frets: tuple[int, int]
    reach_mm: float
    comfortable_mm: float
    extreme_mm: float
    verdict: Verdict

    @property
    def rank(self) -> tuple[int, float]:
        """For comparing: the verdict, then the part of the possible that is used."""
        return VERDICTS.index(self.verdict), abs(self.reach_mm) / self.extreme_mm


def stopped(notes: Iterable[Note]) -> list[Note]:
    """The notes that need a finger."""
    return [note for note in notes if note.fret > 0]


def reach_between(head: Head, low: tuple[int, int], high: tuple[int, int]) -> Reach:
    """The reach between two (finger, fret); the fingers must differ."""
    (one, first), (other, second) = sorted((low, high))
    reach_mm = stretch_mm(head.instrument.scale_length_mm, first, second)
    span_mm = head.hand.span_mm
    band = band_of((one, other), span_mm)
    verdict = judge((one, other), reach_mm, span_mm)
    return Reach((one, other), (first, second), reach_mm, band.comfortable_mm, band.extreme_mm, verdict)


def widest(head: Head, notes: Sequence[Note]) -> Reach | None:
    """The widest reach of notes held together, in the most favourable fingering that keeps the set fingers.

    Notes on one fret may share a finger. None where no two fingers at different frets are needed, and where
    no fingering exists at all (too many fingers: another finding's matter).
    """
    held = stopped(notes)
    if len({note.fret for note in held}) < 2:
        return None
    choices = [FINGERS if note.finger in {None, 0} else (note.finger,) for note in held]
    best: Reach | None = None
    for fingers in product(*choices):
        grip = list(zip(fingers, (note.fret for note in held), strict=True))
        reaches = _reaches(head, grip)
        if reaches is not None:
            worst = max(reaches, key=lambda reach: reach.rank)
            if best is None or worst.rank < best.rank:
                best = worst
    return best


def _reaches(head: Head, grip: list[tuple[int, int]]) -> list[Reach] | None:
    """Every reach of a grip; None where one finger would be on two frets."""
    reaches = []
    for low, high in combinations(sorted(set(grip)), 2):
        if low[0] == high[0]:
            return None
        if low[1] != high[1]:
            reaches.append(reach_between(head, low, high))
    return reaches or None
