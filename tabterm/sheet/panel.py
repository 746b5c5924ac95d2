"""Panels: signs with one zero line, and the skyline that says where there is room for more."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.sheet.ink import hull_of

if TYPE_CHECKING:
    from fractions import Fraction

    from tabterm.sheet.ink import Bounds, Drawn


class Spot(NamedTuple):
    """What a sign belongs to: a measure by index, a moment of it, a course."""

    measure: int | None = None
    onset: Fraction | None = None
    course: int | None = None


NOWHERE = Spot()


class Mark(NamedTuple):
    """One sign: what it is, how it is drawn, what it belongs to and says."""

    kind: str
    drawn: Drawn
    spot: Spot
    text: str
    bounds: Bounds


STEP = 4
"""Parts of a staff space in which a skyline counts."""


class Skyline:
    """How far up and down the ink reaches along a system."""

    def __init__(self, width: float) -> None:
        parts = int(width * STEP) + 2
        self._top = [float("inf")] * parts
        self._bottom = [float("-inf")] * parts

    def _parts(self, left: float, right: float) -> slice:
        first = min(max(int(left * STEP), 0), len(self._top) - 1)
        return slice(first, max(int(right * STEP) + 1, first + 1))

    def add(self, bounds: Bounds) -> None:
        """Take a box in."""
        left, top, right, bottom = bounds
        parts = self._parts(left, right)
        self._top[parts] = [min(each, top) for each in self._top[parts]]
        self._bottom[parts] = [max(each, bottom) for each in self._bottom[parts]]

    def top(self, left: float, right: float, least: float) -> float:
        """The highest ink between two places, or `least` where that is higher."""
        return min(least, *self._top[self._parts(left, right)], least)

    def bottom(self, left: float, right: float, least: float) -> float:
        """The lowest ink between two places, or `least` where that is lower."""
        return max(least, *self._bottom[self._parts(left, right)], least)

    def below(self, other: Skyline) -> float:
        """How far another skyline's zero has to lie below this one's zero so that they just touch."""
        pairs = zip(self._bottom, other._top, strict=False)
        return max((low - high for low, high in pairs), default=0.0)


@dataclass(slots=True)
class Panel:
    """Signs with one zero line: a staff with what hangs on it."""

    width: float
    marks: list[Mark] = field(default_factory=list)
    skyline: Skyline = field(init=False)

    def __post_init__(self) -> None:
        self.skyline = Skyline(self.width)

    def put(self, kind: str, drawn: Drawn, spot: Spot = NOWHERE, text: str = "", *, solid: bool = True) -> Mark:
        """Draw something; unless it is not `solid`, nothing is placed over it by the skyline."""
        mark = Mark(kind, drawn, spot, text, drawn.bounds)
        self.marks.append(mark)
        if solid:
            for bounds in hull_of(drawn) or (mark.bounds,):
                self.skyline.add(bounds)
        return mark

    @property
    def extent(self) -> tuple[float, float]:
        """Top and bottom of its ink."""
        if not self.marks:
            return 0.0, 0.0
        return min(mark.bounds[1] for mark in self.marks), max(mark.bounds[3] for mark in self.marks)
