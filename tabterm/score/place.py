"""Places and spans: where something is in a score."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A moment: measure index from 0, and offset in quarters from its start."""

    measure: int
    offset: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Span:
    """The time from `start` up to, not including, `end`."""

    start: Place
    end: Place

    @classmethod
    def of_measures(cls, first: int, last: int) -> Span:
        """Whole measures, both included, by index."""
        return cls(Place(first), Place(last + 1))

    @classmethod
    def between(cls, one: Place, other: Place) -> Span:
        """From the earlier place to the later one."""
        return cls(min(one, other), max(one, other))

    def __contains__(self, place: Place) -> bool:
        return self.start <= place < self.end


def display_number(score: Score, index: int) -> int:
    """The number a player gives a measure: counted from 1, or from 0 when the first one is a pickup."""
    return index if score.measures[0].short else index + 1


def measure_index(score: Score, number: int) -> int | None:
    """The measure with a player's number, or None when there is none."""
    index = number if score.measures[0].short else number - 1
    return index if 0 <= index < len(score.measures) else None


def lead_in(score: Score, index: int) -> Fraction:
    """Where in its metre a measure begins, in quarters: later than 0 in a pickup, that of a later part too."""
    return score.lead_ins[index]


def describe(score: Score, place: Place) -> str:
    """A place in words for messages: `measure 5, beat 2&`."""
    if place.measure >= len(score.measures):
        return "after the last measure"
    return f"measure {display_number(score, place.measure)}, beat {count_name(score, place)}"


def count_name(score: Score, place: Place) -> str:
    """How a player counts a moment: `2`, `2&`, `2e`, `2a`, or `2+1/3` off the common subdivisions."""
    return count_at(score.metres[place.measure], place.offset + lead_in(score, place.measure))


@lru_cache(maxsize=4096)
def count_at(metre: Metre, at: Fraction) -> str:
    """How a moment of a whole measure is counted, by its offset in quarters; remembered, for it is asked often.

    In compound metres the units are counted through: 1 to 6 in 6/8.
    """
    if metre.compound or metre.groups or (metre.unit >= 8 and metre.count % 2):
        unit = Fraction(4, metre.unit)
        number, rest = divmod(at, unit)
        part = rest / unit
        names = {Fraction(0): "", Fraction(1, 2): "&"}
    else:
        index, start, length = metre.beat_at(at)
        number, part = index, (at - start) / length
        names = {
            Fraction(0): "",
            Fraction(1, 4): "e",
            Fraction(1, 2): "&",
            Fraction(3, 4): "a",
        }
    return f"{int(number) + 1}{names.get(part, f'+{part}')}"
