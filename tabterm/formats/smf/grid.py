"""Fitting onsets to a grid: for each beat the parts that its onsets fit best.

What is played is never quite on a grid, and a finer grid always fits a little better. So each beat takes the parts
of least cost: how far its onsets are off, squared, over what a hand is usually off, and a price for every finer
division; divisions that the rest of the music uses are cheaper.
"""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from functools import lru_cache
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from tabterm.formats.smf.bars import MidiBeat, MidiBeats

USUAL = "32+16t"
"""The grid where none is stated: thirty-seconds, and sixteenth triplets."""

OFF = 0.03
"""Quarters that a hand is usually off: 18 ms at a hundred quarters a minute (common practice, no source)."""

EARLY = 0.08
"""Quarters by which an onset may come before its beat and still be taken as on it."""

TOGETHER = 0.05
"""Quarters within which onsets are one chord."""

PRICES = {1: 0.0, 2: 0.5, 3: 1.7, 4: 1.5, 6: 3.5, 8: 4.0, 12: 4.5, 16: 6.0}
"""For dividing a beat in so many parts (common practice, no source)."""

MERGED = 10.0
"""For two onsets that come to lie on one place."""

USED = 0.6
"""Part of a price that is let off where all other beats use the division."""

_WORD = re.compile(r"^(4|8|16|32|64)(t?)$")


class OnGrid(NamedTuple):
    """Onsets on a grid.

    Attributes:
        places: Each onset, in quarters as played, and where it belongs.
        parts: Into how many parts each beat was divided.
        moved: Quarters that they were moved on average.
        furthest: Quarters of the one that was moved furthest.
        chance: Quarters that onsets at random would have been moved to the same divisions, on average.
    """

    places: Mapping[float, Fraction]
    parts: Mapping[MidiBeat, int]
    moved: float
    furthest: float
    chance: float


@dataclass(frozen=True, slots=True)
class Grid:
    """The divisions that are allowed: of a beat in two and again in two, and of one in three."""

    plain: int
    other: int

    @classmethod
    def parse(cls, words: str) -> Grid:
        """Read note values such as `16` or `16+8t`; raises FormatError for anything else."""
        plain, other = 4, 4
        for word in words.split("+"):
            match = _WORD.match(word.strip())
            if match is None or word.strip() == "4t":
                raise FormatError(
                    f"not a grid: '{words}'", hint="note values such as 8, 16, 8t or 16+8t (t: triplets)"
                )
            value = int(match.group(1))
            plain, other = (plain, max(other, value)) if match.group(2) else (max(plain, value), other)
        return cls(plain, other)

    def divisions(self, beat: MidiBeat) -> tuple[int, ...]:
        """Parts that a beat may be divided in, the fewest first; of a beat in threes, `t` is a division in two."""
        return self._divisions(beat.length, Fraction(2, 3) if beat.in_threes else Fraction(3, 2))

    @lru_cache(maxsize=64)  # noqa: B019 - grids are values, and few
    def _divisions(self, length: Fraction, other: Fraction) -> tuple[int, ...]:
        found = {Fraction(1)}
        for value in (8, 16, 32, 64):
            found |= {length * value / 4} if value <= self.plain else set()
            found |= {length * value / 4 * other} if value <= self.other else set()
        return tuple(sorted(int(parts) for parts in found if parts in PRICES))


def fit(onsets: Iterable[float], beats: MidiBeats, grid: Grid) -> OnGrid:
    """Put onsets, in quarters, on the grid."""
    groups = groupby(sorted(set(onsets)), key=lambda onset: beats.at(onset + EARLY))
    inside = [(beat, grid.divisions(beat), list(played)) for beat, played in groups]
    shares: dict[int, float] = {}
    for _ in range(2):
        chosen = [_best(beat, played, divisions, shares) for beat, divisions, played in inside]
        counts = Counter(parts for parts, (_, _, played) in zip(chosen, inside, strict=True) if len(played) > 1)
        shares = {parts: count / counts.total() for parts, count in counts.items()}
    places: dict[float, Fraction] = {}
    off, steps = [], []
    for (beat, _, played), parts in zip(inside, chosen, strict=True):
        for onset in played:
            places[onset] = beat.start + _nearest(onset - beat.begins, parts, beat.length)
            off.append(abs(float(places[onset]) - onset))
            steps.append(beat.lasts / parts)
    parts_of = {beat: parts for (beat, _, _), parts in zip(inside, chosen, strict=True)}
    count = max(len(off), 1)
    return OnGrid(places, parts_of, sum(off) / count, max(off, default=0.0), sum(steps) / 4.0 / count)


def _best(beat: MidiBeat, played: list[float], divisions: tuple[int, ...], shares: Mapping[int, float]) -> int:
    offsets = [onset - beat.begins for onset in played]
    apart = [*offsets[:1], *(later for earlier, later in pairwise(offsets) if later - earlier > TOGETHER)]

    def cost(parts: int) -> float:
        step = beat.lasts / parts
        off = sum([(offset - round(offset / step) * step) ** 2 for offset in offsets]) / (2.0 * OFF * OFF)
        merged = len(apart) - len({round(offset / step) for offset in apart})
        return off + PRICES[parts] * (1.0 - USED * shares.get(parts, 0.0)) + MERGED * merged

    return min(divisions, key=cost)


def _nearest(offset: float, parts: int, length: Fraction) -> Fraction:
    step = length / parts
    return round(offset / float(step)) * step
