"""Tempo: so many of a part of a whole note in a minute."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import ClassVar, Self

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.duration import QUARTER, SHORTEST, WRITTEN, Duration
from tabterm.score.former import tempo_today
from tabterm.values import TextValue

_TEXT = re.compile(r"^(?:([1-9]\d{0,2})/([1-9]\d{0,2})=)?(\d{1,3}(?:\.\d{1,3})?)$", re.ASCII)
HINT = "write 104 (quarters), or a part of a whole note and a number: 1/4=104, 3/8=112"
SLOWEST, FASTEST = 10.0, 400.0

BEATS = {
    beat.length: beat
    for beat in (Duration(value, dots) for value in WRITTEN for dots in range(3) if value << dots <= SHORTEST)
}
"""The note values that a tempo can count, by their length in quarters."""


def part_of_whole(beat: Duration) -> str:
    """A note value as a part of a whole note: `3/8` for a dotted quarter."""
    part = beat.length / 4
    return f"{part.numerator}/{part.denominator}"


@dataclass(frozen=True, slots=True)
class Tempo(TextValue):
    """A metronome mark; text form `1/4=104` (quarters) or `3/8=112` (dotted quarters); `104` means quarters.

    Attributes:
        per_minute: Notes of that value in a minute, 10 to 400.
        beat: The note value counted, with dots or without, in no tuplet.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    per_minute: float
    beat: Duration = QUARTER

    def __post_init__(self) -> None:
        if self.beat.length not in BEATS:
            raise ScoreError(f"a tempo cannot count {self.beat}", hint=HINT)
        if not SLOWEST <= self.per_minute <= FASTEST:
            raise ScoreError(f"a tempo of {self.per_minute:g} is out of range", hint="use 10 to 400")

    def __str__(self) -> str:
        return f"{part_of_whole(self.beat)}={self.per_minute:g}"

    @classmethod
    @lru_cache(maxsize=256)
    def parse(cls, text: str) -> Self:
        """Read a metronome mark, and the form of version 1; equal texts give the same object."""
        match = _TEXT.match(tempo_today(text.strip()))
        if match is None:
            meant = text.strip().replace(",", ".")
            hint = f"write {meant}" if "," in text and _TEXT.match(meant) else HINT
            raise ScoreError(f"not a tempo: '{text}'", hint=hint)
        count, unit, per_minute = match.groups()
        length = Fraction(4 * int(count), int(unit)) if count else QUARTER.length
        if length not in BEATS:
            raise ScoreError(f"a tempo cannot count {count}/{unit}", hint=HINT)
        return cls(float(per_minute), BEATS[length])

    @property
    def quarters_per_minute(self) -> float:
        """The tempo in quarters."""
        return self.per_minute * float(self.beat.length)
