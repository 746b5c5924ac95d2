"""Spacing: where each moment of a system stands, by its length and by the room that its signs need.

Twice the length gets 1.45 times the room (engravers use 1.4 to 1.6: Gould 2011, from memory; tuned here).
"""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from functools import lru_cache
from math import log2
from typing import TYPE_CHECKING, TypeAlias

from tabterm.dataclass import dataclass
from tabterm.sheet.extents import Extent, Grace, graces, rhythm_extent, staff_extent, tab_extent

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tabterm.sheet.layout import Layout
    from tabterm.sheet.reading import Chord, Reading

QUARTER_ROOM, GROWTH = 5.6, 1.45
"""Room of a quarter, in staff spaces, and how much more twice the length gets; tuned here."""

TIGHTEST = 0.72
"""How much of its usual room a system may be pressed into; tuned here."""

PAD = 1.1
"""Room behind a bar line, before what comes first; and before one."""

NEIGHBOURS = 0.6
"""Least room between the signs of two moments."""

JOINED = 1.9
"""Least room between two notes that an arc or a slide joins."""


@dataclass(slots=True)
class Column:
    """A moment of a measure: how much room it takes, and its chord where one begins there."""

    offset: Fraction
    length: Fraction
    extent: Extent
    chord: Chord | None = None
    graces: list[Grace] = field(default_factory=list)
    joined: bool = False


@dataclass(slots=True)
class Spaced:
    """A measure with its columns, and the least and the usual room from each to the next.

    Attributes:
        reading: What stands in it.
        columns: Its moments.
        least: From each column to the next or to the bar line.
        usual: The same.
        head: Room at its left for the sign of a repeat.
        change: Room there for a key and metre that change, which it does not need at the beginning of a line.
        tail: Room at its right for the sign of a repeat.
    """

    reading: Reading
    columns: list[Column]
    least: list[float]
    usual: list[float]
    head: float = 0.0
    change: float = 0.0
    tail: float = 0.0

    @property
    def lead(self) -> float:
        """From the bar line to the first column."""
        return PAD + self.head + self.change + self.columns[0].extent.left

    @property
    def shortest(self) -> float:
        """Its width as tight as can be."""
        pairs = zip(self.least, self.usual, strict=True)
        return self.lead + sum(max(least, usual * TIGHTEST) for least, usual in pairs) + self.tail

    @property
    def width(self) -> float:
        """Its usual width."""
        return self.at(1.0)

    def at(self, stretch: float) -> float:
        """Its width when its room is stretched."""
        pairs = zip(self.least, self.usual, strict=True)
        return self.lead + sum(max(least, usual * stretch) for least, usual in pairs) + self.tail


@lru_cache(maxsize=1024)
def room(length: Fraction) -> float:
    """Usual room of a length in quarters."""
    return QUARTER_ROOM * float(GROWTH ** log2(max(float(length), 1 / 64)))


Needs: TypeAlias = "Mapping[Fraction, Extent]"
"""What a row of words needs at some moments."""


def spaced(reading: Reading, layout: Layout, rows: Sequence[Needs]) -> Spaced:
    """Columns of a measure; `rows` say for each row of words how much room it needs at which moments."""
    length = reading.measure.length
    chords = {chord.offset: chord for chord in reading.chords}
    moments = {*chords, *(chord.offset for chord in reading.source), *(offset for row in rows for offset in row)}
    offsets = sorted(moment for moment in moments if moment < length)
    sources = {chord.offset: chord for chord in reading.source}
    columns = []
    for offset, end in zip(offsets, [*offsets[1:], length], strict=True):
        columns.append(_column(offset, end - offset, chords.get(offset), sources.get(offset), layout))
    usual = [room(column.length) for column in columns]
    least = [_least(column, after) for column, after in zip(columns, [*columns[1:], None], strict=True)]
    for row in rows:
        _make_room(row, offsets, columns, least, usual)
    return Spaced(reading, columns, least, usual)


def _column(
    offset: Fraction, length: Fraction, chord: Chord | None, source: Chord | None, layout: Layout
) -> Column:
    own = [staff_extent(source)] if source is not None else []
    placed: list[Grace] = []
    if chord is not None:
        staff = staff_extent(chord) if layout.has_notation else rhythm_extent(chord)
        tab = tab_extent(chord) if layout.has_tab else Extent(0.0, 0.0)
        left = max(staff.left, tab.left, 0.0)
        if chord.graces:
            placed, left = graces(chord, left, tab=layout.has_tab, staff=layout.has_notation)
        chord.outer = left
        own.append(Extent(left, max(staff.right, tab.right)))
    extent = Extent(max((each.left for each in own), default=0.0), max((each.right for each in own), default=0.0))
    joined = chord is not None and any(
        head.tied or (head.note is not None and head.note.slurred) for head in chord.heads
    )
    return Column(offset, length, extent, chord, placed, joined)


def _least(column: Column, after: Column | None) -> float:
    if after is None:
        return column.extent.right + PAD
    gap = JOINED if after.joined and not after.graces else NEIGHBOURS
    return column.extent.right + after.extent.left + gap


def _make_room(
    row: Needs, offsets: list[Fraction], columns: list[Column], least: list[float], usual: list[float]
) -> None:
    """Widen columns where words of a row would run into each other, or out of the measure."""
    places = sorted(row)
    if not places:
        return
    number = {offset: index for index, offset in enumerate(offsets)}
    for place, after in zip(places, [*places[1:], None], strict=True):
        if place not in number:
            continue
        first, end = number[place], number[after] if after is not None else len(columns)
        want = row[place].right + (row[after].left if after is not None else 0.0) + NEIGHBOURS
        have = sum(least[first:end])
        if want > have:
            share = sum(usual[first:end])
            for index in range(first, end):
                least[index] = max(least[index], 0.0) + (want - have) * usual[index] / share


def stretch_for(measures: Sequence[Spaced], width: float) -> float:
    """How much the usual room of measures is stretched so that they fill a width; 0 where they cannot.

    Columns that have room enough are stretched alike; the others are as wide as they have to be.
    """
    pairs = [pair for measure in measures for pair in zip(measure.least, measure.usual, strict=True)]
    pairs.sort(key=lambda pair: pair[0] / pair[1])
    fixed = sum(measure.lead + measure.tail for measure in measures) + sum(least for least, _ in pairs)
    usual = 0.0
    for at, (least, room_there) in enumerate(pairs):
        fixed, usual = fixed - least, usual + room_there
        stretch = (width - fixed) / usual
        following = pairs[at + 1] if at + 1 < len(pairs) else None
        if following is None or stretch <= following[0] / following[1]:
            return max(stretch, 0.0)
    return 0.0


@dataclass(slots=True)
class Placed:
    """A measure in its system.

    Attributes:
        spaced: Its columns.
        left: Its bar line at the left, or where the signs at the line's beginning end.
        right: Its bar line.
        x: The zero line of each column, by offset.
    """

    spaced: Spaced
    left: float
    right: float
    x: dict[Fraction, float]

    @property
    def index(self) -> int:
        """Of the measure in the score."""
        return self.spaced.reading.index

    def x_at(self, offset: Fraction) -> float:
        """Where a moment stands; between columns by its time."""
        if offset in self.x:
            return self.x[offset]
        before = max((each for each in self.x if each < offset), default=Fraction(0))
        after = min((each for each in self.x if each > offset), default=self.spaced.reading.measure.length)
        x0, x1 = self.x[before], self.x.get(after, self.right)
        return x0 + (x1 - x0) * float((offset - before) / (after - before))


def place(measures: Sequence[Spaced], left: float, width: float) -> list[Placed]:
    """Place measures from `left` on so that they fill a width."""
    stretch = stretch_for(measures, width)
    placed, x = [], left
    for measure in measures:
        start, at = x, x + measure.lead
        places = {}
        for column, least, usual in zip(measure.columns, measure.least, measure.usual, strict=True):
            places[column.offset] = at
            at += max(least, usual * stretch)
        x = at + measure.tail
        placed.append(Placed(measure, start, x, places))
    return placed
