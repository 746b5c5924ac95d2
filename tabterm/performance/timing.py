"""Musical time in seconds: tempo and swing."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Swing


@dataclass(frozen=True, slots=True)
class PlayedMeasure:
    """One measure as it is played.

    Attributes:
        index: Its index in the score.
        low: Offset from which it is played, in quarters.
        high: Offset up to which it is played.
        start_s: When `low` is due, in seconds.
        quarter_s: Seconds of a quarter.
        metre: The metre in force.
        swing: The swing in force.
        missing: What a pickup lacks at its front: beats are counted from the whole measure.
    """

    index: int
    low: Fraction
    high: Fraction
    start_s: float
    quarter_s: float
    metre: Metre
    swing: Swing | None
    missing: Fraction

    def quarters(self, offset: Fraction) -> Fraction:
        """How many quarters after its start an offset of the measure is due."""
        if self.swing is None:
            return offset - self.low if self.low else offset
        first = swung_offset(self.low + self.missing, self.metre, self.swing)
        return swung_offset(offset + self.missing, self.metre, self.swing) - first

    def at(self, offset: Fraction) -> float:
        """When an offset of the measure is due, in seconds."""
        return self.start_s + float(self.quarters(offset)) * self.quarter_s

    @property
    def end_s(self) -> float:
        """When its played part ends."""
        return self.at(self.high)

    def timed(self, measure: Measure) -> list[tuple[Fraction, float, Event]]:
        """The events that begin in the played part: offset, time in s, event."""
        events = measure.timed()
        if self.low or self.high != measure.length:
            events = ((offset, event) for offset, event in events if self.low <= offset < self.high)
        return [(offset, self.at(offset), event) for offset, event in events]


@lru_cache(maxsize=4096)
def swung_offset(offset: Fraction, metre: Metre, swing: Swing | None) -> Fraction:
    """An offset in quarters with the swing laid over it: of each pair, the first part takes long:short.

    Pairs are counted from each beat; a beat that does not divide into pairs (eighths in 6/8) stays straight,
    so that beats and measures keep their length.
    """
    if swing is None:
        return offset
    pair = Fraction(8, swing.unit)
    _, beat, length = metre.beat_at(offset)
    if length % pair:
        return offset
    whole, inside = divmod(offset - beat, pair)
    half, first = pair / 2, pair * swing.long / (swing.long + swing.short)
    bent = inside * first / half if inside <= half else first + (inside - half) * (pair - first) / half
    return beat + whole * pair + bent
