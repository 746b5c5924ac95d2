"""Musical time in seconds: tempo and swing."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.score.model import Score, Swing


@dataclass(frozen=True, slots=True)
class PlayedMeasure:
    """One measure as it is played.

    Attributes:
        index: Its index in the score.
        low: Offset from which it is played, in quarters.
        high: Offset up to which it is played.
        start_s: When `low` is due, in seconds.
        quarter_s: Seconds of a quarter.
        swing: The swing in force.
        missing: What a pickup lacks at its front: the swing is counted from the whole measure.
    """

    index: int
    low: Fraction
    high: Fraction
    start_s: float
    quarter_s: float
    swing: Swing | None
    missing: Fraction

    def at(self, offset: Fraction) -> float:
        """When an offset of the measure is due, in seconds."""
        swung = swung_offset(offset + self.missing, self.swing)
        return self.start_s + float(swung - swung_offset(self.low + self.missing, self.swing)) * self.quarter_s

    @property
    def end_s(self) -> float:
        """When its played part ends."""
        return self.at(self.high)


def swung_offset(offset: Fraction, swing: Swing | None) -> Fraction:
    """An offset in quarters with the swing laid over it: of each pair, the first part takes long:short."""
    if swing is None:
        return offset
    pair = Fraction(8, swing.unit)
    whole, inside = divmod(offset, pair)
    half, first = pair / 2, pair * swing.long / (swing.long + swing.short)
    bent = inside * first / half if inside <= half else first + (inside - half) * (pair - first) / half
    return whole * pair + bent


def missing_of(score: Score, index: int) -> Fraction:
    """What a pickup lacks at its front, in quarters; nothing for any other measure."""
    measure = score.measures[index]
    return score.metres[index].length - measure.length if measure.short and index == 0 else Fraction(0)
