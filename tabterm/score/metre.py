"""Metre: the time signature, its beats and how they group."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import ClassVar, Self

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.duration import one
from tabterm.values import TextValue

_TEXT = re.compile(r"^(?:(C\|?)|([1-9]\d?)/(1|2|4|8|16|32|64)(?:\(([1-9]\d?(?:\+[1-9]\d?)*)\))?)$")


@dataclass(frozen=True, slots=True)
class Metre(TextValue):
    """A time signature; text form `4/4`, `6/8`, `7/8(3+2+2)`, `C` (common time), `C|` (cut time).

    Attributes:
        count: The upper figure.
        unit: The lower figure, a part of a whole note.
        groups: Units in each beat where the player gave them; otherwise the usual ones are derived.
        sign: "" for figures, or the sign `C` or `C|`.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    count: int
    unit: int
    groups: tuple[int, ...] = ()
    sign: str = ""

    def __post_init__(self) -> None:
        if self.groups and sum(self.groups) != self.count:
            raise ScoreError(f"the groups of {self} do not add up to {self.count}")

    def __str__(self) -> str:
        groups = f"({'+'.join(map(str, self.groups))})" if self.groups else ""
        return self.sign or f"{self.count}/{self.unit}{groups}"

    @classmethod
    @lru_cache(maxsize=256)
    def parse(cls, text: str) -> Self:
        """Read a time signature; equal texts give the same object."""
        match = _TEXT.match(text.strip())
        if match is None:
            raise ScoreError(f"not a time signature: '{text}'", hint="write 4/4, 6/8, 7/8(3+2+2), C or C|")
        sign, count, unit, groups = match.groups()
        if sign:
            return cls(4, 4, sign="C") if sign == "C" else cls(2, 2, sign="C|")
        return cls(int(count), int(unit), tuple(map(int, groups.split("+"))) if groups else ())

    @property
    def length(self) -> Fraction:
        """Length of a whole measure, in quarters."""
        return _length(self.count, self.unit)

    @property
    def compound(self) -> bool:
        """True where each beat divides in three: 6/8, 9/8, 12/8 (Bickford 1920, p. 72)."""
        return not self.groups and self.unit >= 8 and self.count % 3 == 0 and self.count > 3

    @property
    def beats(self) -> tuple[Fraction, ...]:
        """Offset of each beat, in quarters from the measure's start.

        Compound metres have a beat in every three units; other metres over 8 or less whose count is odd
        and above 3 are felt in twos closed by a three (common practice, no source) unless groups are given.
        """
        return _beats(self)

    @property
    def beat_sizes(self) -> tuple[int, ...]:
        """Units in each beat."""
        if self.groups:
            return self.groups
        if self.compound:
            return (3,) * (self.count // 3)
        if self.unit >= 8 and self.count > 3:
            pairs, odd = divmod(self.count, 2)
            return (*(2,) * (pairs - odd), *(3,) * odd)
        if self.unit >= 8 and self.count == 3:
            return (3,)
        return (1,) * self.count

    def beat_at(self, offset: Fraction) -> tuple[int, Fraction, Fraction]:
        """The beat that an offset lies in: (number from 0, its offset, its length in quarters).

        Past the end of the measure it is the last beat.
        """
        beats = self.beats
        number = max(index for index, start in enumerate(beats) if start <= offset or index == 0)
        end = beats[number + 1] if number + 1 < len(beats) else self.length
        return number, beats[number], end - beats[number]


@lru_cache(maxsize=256)
def _length(count: int, unit: int) -> Fraction:
    return one(Fraction(4 * count, unit))


@lru_cache(maxsize=256)
def _beats(metre: Metre) -> tuple[Fraction, ...]:
    unit = Fraction(4, metre.unit)
    offsets, at = [], Fraction(0)
    for size in metre.beat_sizes:
        offsets.append(at)
        at += size * unit
    return tuple(offsets)


COMMON_TIME = Metre.parse("4/4")

METRES = ("4/4", "2/2", "3/4", "2/4", "6/8", "9/8", "12/8", "3/8", "5/4", "7/8", "C", "C|")
"""Time signatures to choose from; others can be written."""
