"""Columns: how a measure is laid out in characters, alike on the screen and in a text tab."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.memory import Memory
from tabterm.page.signs import finger_cell, note_cell, stroke_cell

if TYPE_CHECKING:
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Score, SourceEvent

_BLACK = frozenset({1, 3, 6, 8, 10})
"""Pitch classes whose names need an accidental in most keys."""


@dataclass(frozen=True, slots=True)
class Column:
    """A moment of a measure on the page: its offset in quarters, first character and width."""

    offset: Fraction
    x: int
    width: int


@dataclass(frozen=True, slots=True)
class MeasureColumns:
    """The columns of a measure, left to right, and their width together."""

    columns: tuple[Column, ...]
    width: int
    _by_offset: dict[Fraction, Column] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_offset", {column.offset: column for column in self.columns})

    def column_at(self, offset: Fraction) -> Column:
        """The column in which an offset lies."""
        found = self._by_offset.get(offset)
        if found is not None:
            return found
        found = self.columns[0]
        for column in self.columns:
            if column.offset > offset:
                break
            found = column
        return found

    def x_of(self, offset: Fraction) -> int:
        """Character of an offset; off the columns it lies in proportion inside one."""
        column = self.column_at(offset)
        if column.offset == offset:
            return column.x
        later = [other for other in self.columns if other.offset > offset]
        if not later:
            return min(column.x + 2, self.width - 1)
        part = (offset - column.offset) / (later[0].offset - column.offset)
        return column.x + max(1, int(part * column.width))


Needs = tuple[tuple[Fraction, int], ...]
"""Offsets, and the characters that a row wants there beside what every measure has room for."""

_LAID_OUT: Memory[MeasureColumns] = Memory(
    "columns", hangs_on="a measure, its metre, the missing part of a pickup, what rows need", most=20_000
)


def lay_out(score: Score, index: int, needs: Needs = ()) -> MeasureColumns:
    """The columns of a measure; remembered for as long as the measure and what its rows need are the same."""
    measure, metre = score.measures[index], score.metres[index]
    missing = metre.length - measure.length if measure.short and index == 0 else Fraction(0)
    key, hangs_on = (id(measure), needs), (metre, missing)
    known = _LAID_OUT.known(key, hangs_on)
    if known is None:
        known = _LAID_OUT.keep(key, _columns(measure, metre, missing, needs), hangs_on, alive=(measure,))
    return known


def _columns(measure: Measure, metre: Metre, missing: Fraction, wanted: Needs) -> MeasureColumns:
    unit = Fraction(4, metre.unit) if metre.unit >= 8 else Fraction(1, 2)
    start = -missing % unit
    grid = {start + unit * n for n in range(int((measure.length - start) / unit) + 1)}
    source = dict(measure.timed_source())
    moments = {Fraction(0), *grid, *measure.onsets, *(mark.offset for mark in measure.chords), *source}
    offsets = sorted(moment for moment in moments if moment < measure.length)
    ends = [*offsets[1:], measure.length]
    needs = {offset: _need(event) for offset, event in measure.timed()}
    needs |= {offset: max(_source_need(event), needs.get(offset, 0)) for offset, event in source.items()}
    needs |= {offset: max(need, needs.get(offset, 0)) for offset, need in wanted}
    if metre.count >= 10:
        needs |= {
            offset: max(2, needs.get(offset, 0)) for offset in offsets if _has_long_count(offset + missing, metre)
        }
    widths = [
        max(_least(end - offset), needs.get(offset, 0) + 1) for offset, end in zip(offsets, ends, strict=True)
    ]
    _make_room_for_chords(measure, offsets, widths)
    columns, x = [], 0
    for offset, width in zip(offsets, widths, strict=True):
        columns.append(Column(offset, x, width))
        x += width
    return MeasureColumns(tuple(columns), x)


def _least(length: Fraction) -> int:
    if length >= Fraction(1, 2):
        return 4
    return 3 if length >= Fraction(1, 8) else 2


def _need(event: Event) -> int:
    """Characters of the widest cell of an event; its fingers have room before they are known."""
    cells = [len(note_cell(None, event, note)) for note in event.notes]
    fingers = len(event.notes) if any(note.fret for note in event.notes) else 1
    return max([*cells, fingers, len(finger_cell(event)), len(stroke_cell(event))])


def _source_need(event: SourceEvent) -> int:
    """Characters of the pitches of a moment of the original, and of a sign behind them."""
    names = [3 if pitch % 12 in _BLACK else 2 for pitch in event.pitches]
    return sum(names) + len(names) + 2 * (event.tied + len(event.held))


def _has_long_count(at: Fraction, metre: Metre) -> bool:
    """Whether a moment is counted by a number of two figures."""
    units = at * metre.unit / 4
    return units >= 9 and units.denominator == 1


def _make_room_for_chords(measure: Measure, offsets: list[Fraction], widths: list[int]) -> None:
    """Widen the column of each chord symbol that would run into the next one, or over the bar line."""
    marks = measure.chords
    for number, mark in enumerate(marks):
        first = offsets.index(mark.offset)
        last = offsets.index(marks[number + 1].offset) if number + 1 < len(marks) else len(offsets)
        missing = len(mark.symbol) + 1 - sum(widths[first:last])
        widths[first] += max(missing, 0)
