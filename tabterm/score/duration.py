"""Symbolic durations: note value, dots and tuplet, with an exact length in quarters."""

from __future__ import annotations

import re
from dataclasses import field
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import TYPE_CHECKING, ClassVar, Self

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.former import duration_today
from tabterm.values import TextValue

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

NOTE_VALUES = (1, 2, 4, 8, 16, 32, 64)
"""Whole to 64th, as the parts of a whole note that a player can choose."""

SHORTEST = 256
"""Rests left over when a doubly dotted 64th is cut up may be this short a part of a whole note."""

WRITTEN = (*NOTE_VALUES, 128, SHORTEST)
"""All that can be written, leftover rests included."""

LARGEST_RATIO = 9999
"""Both numbers of a tuplet have at most four figures."""

_RATIO = r"([1-9]\d{0,3}):([1-9]\d{0,3})"
_TUPLET = re.compile(rf"^{_RATIO}$", re.ASCII)
_TEXT = re.compile(rf"^(1|2|4|8|16|32|64|128|256)(\.{{0,2}})(?:\({_RATIO}\))?$", re.ASCII)


@dataclass(frozen=True, slots=True)
class Tuplet:
    """`actual` notes in the time of `normal`: a triplet is 3:2."""

    actual: int
    normal: int

    def __str__(self) -> str:
        return f"{self.actual}:{self.normal}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a ratio such as `3:2`."""
        match = _TUPLET.match(text.strip())
        if match is None:
            raise ScoreError(f"not a tuplet: '{text}'", hint="write a ratio such as 3:2, three in the time of two")
        return cls(int(match.group(1)), int(match.group(2)))


TRIPLET = Tuplet(3, 2)
TUPLETS = (TRIPLET, Tuplet(5, 4), Tuplet(6, 4), Tuplet(7, 4))
"""The usual ratios; any other may be given."""


@dataclass(frozen=True, slots=True)
class Duration(TextValue):
    """A written note value; text form `8`, `4.`, `16(3:2)`.

    Attributes:
        value: The part of a whole note: 1, 2, 4 ... 64 (128 and 256 for leftover rests).
        dots: 0 to 2.
        tuplet: The ratio, or None.
        length: Exact length in quarters.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    value: int
    dots: int = 0
    tuplet: Tuplet | None = None
    length: Fraction = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        if self.value not in WRITTEN or not 0 <= self.dots <= 2:
            raise ScoreError(f"no note value 1/{self.value} with {self.dots} dots")
        if self.value << self.dots > SHORTEST:
            raise ScoreError(f"a dot on 1/{self.value} is too short to write", hint="use a longer note value")
        length = Fraction(4, self.value) * (2 - Fraction(1, 1 << self.dots))
        if self.tuplet is not None:
            if not all(1 <= number <= LARGEST_RATIO for number in (self.tuplet.actual, self.tuplet.normal)):
                raise ScoreError(f"not a tuplet: {self.tuplet}", hint=f"both numbers are 1 to {LARGEST_RATIO}")
            length = length * self.tuplet.normal / self.tuplet.actual
        object.__setattr__(self, "length", length)

    def __str__(self) -> str:
        tuplet = f"({self.tuplet})" if self.tuplet else ""
        return f"{self.value}{'.' * self.dots}{tuplet}"

    @classmethod
    @lru_cache(maxsize=4096)
    def parse(cls, text: str) -> Self:
        """Read `8.`, `16(3:2)` and the like, and the form of version 1; equal texts give the same object."""
        match = _TEXT.match(text) or _TEXT.match(duration_today(text))
        if match is None:
            raise ScoreError(f"not a note value: '{text}'", hint="write one such as 8, 4. or 16(3:2)")
        value, dots, actual, normal = match.groups()
        tuplet = Tuplet(int(actual), int(normal)) if actual else None
        return cls(int(value), len(dots), tuplet)

    def with_dots(self, dots: int) -> Duration:
        """The same value with another number of dots."""
        return Duration(self.value, dots, self.tuplet)

    def in_tuplet(self, tuplet: Tuplet | None) -> Duration:
        """The same value inside (or, with None, outside) a tuplet."""
        return Duration(self.value, self.dots, tuplet)


def tuplet_groups(durations: Sequence[Duration]) -> list[tuple[int, int]]:
    """First and last number of the durations of each tuplet, in order.

    A tuplet is whole when its notes fill a number of its own shortest value, as many as its ratio says.
    """
    groups: list[tuple[int, int]] = []
    ratio, first, time, unit = None, 0, Fraction(0), Fraction(0)
    for number, duration in enumerate(durations):
        if ratio is not None and duration.tuplet != ratio:
            groups.append((first, number - 1))
            ratio = None
        if duration.tuplet is None:
            continue
        value = Fraction(4, duration.value)
        if ratio is None:
            ratio, first, time, unit = duration.tuplet, number, Fraction(0), value
        time += duration.length
        unit = min(unit, value)
        if (time / (unit * ratio.normal)).denominator == 1:
            groups.append((first, number))
            ratio = None
    return groups if ratio is None else [*groups, (first, len(durations) - 1)]


def total(lengths: Iterable[Fraction]) -> Fraction:
    """The sum of lengths; added over one denominator, so that long sums are quick."""
    top, bottom = 0, 1
    for length in lengths:
        more, parts = length.as_integer_ratio()
        if bottom % parts:
            common = lcm(bottom, parts)
            top, bottom = top * (common // bottom), common
        top += more * (bottom // parts)
    return Fraction(top, bottom)


@lru_cache(maxsize=4096)
def one(length: Fraction) -> Fraction:
    """The same object for equal lengths, so that most can be compared by identity."""
    return length


QUARTER = Duration.parse("4")
EIGHTH = Duration.parse("8")
