"""Columns: how a measure is laid out in characters, alike on the screen and in a text tab."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import field
from fractions import Fraction
from math import gcd, lcm
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.memory import Memory
from tabterm.page.signs import BRACKET, finger_cell, note_cell, rhythm_signs, stroke_cell
from tabterm.score.duration import tuplet_groups
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Score
    from tabterm.score.source import SourceEvent

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
    """The columns of a measure, left to right.

    Attributes:
        columns: Its columns.
        width: Their width together.
        beats_aside: Offsets of beats that have no column, as nothing begins there and they lie inside a tuplet.
    """

    columns: tuple[Column, ...]
    width: int
    beats_aside: frozenset[Fraction] = frozenset()
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
    missing = lead_in(score, index)
    key, hangs_on = (id(measure), needs), (metre, missing)
    known = _LAID_OUT.known(key, hangs_on)
    if known is None:
        known = _LAID_OUT.keep(key, _columns(measure, metre, missing, needs), hangs_on, alive=(measure,))
    return known


def _columns(measure: Measure, metre: Metre, missing: Fraction, wanted: Needs) -> MeasureColumns:
    unit = Fraction(4, metre.unit) if metre.unit >= 8 else Fraction(1, 2)
    start = -missing % unit
    grid = {start + unit * n for n in range(int((measure.length - start) / unit) + 1)}
    tuplets = _tuplets(measure)
    inside = {at for at in grid if any(first < at < end for first, end in tuplets)}
    source = dict(measure.timed_source())
    filled = {*measure.onsets, *(mark.offset for mark in (*measure.chords, *measure.heard_chords)), *source}
    moments = {Fraction(0), *(grid - inside), *filled}
    offsets = sorted(moment for moment in moments if moment < measure.length)
    lengths = [end - offset for offset, end in zip(offsets, [*offsets[1:], measure.length], strict=True)]
    needs = _needs(measure, metre, missing, offsets, wanted)
    narrow = moments - filled if _is_sparse(measure, metre, missing) else frozenset()
    rests = [event.length for event in measure.events if event.is_rest]
    widths = [
        max(
            2 if offset in narrow else _least(length, min(rests, default=Fraction(1, 2))), needs.get(offset, 0) + 1
        )
        for offset, length in zip(offsets, lengths, strict=True)
    ]
    for first, end in tuplets:
        _even_out(widths, lengths, slice(bisect_left(offsets, first), bisect_left(offsets, end)))
    _make_room_for_chords(measure, offsets, widths)
    columns, x = [], 0
    for offset, width in zip(offsets, widths, strict=True):
        columns.append(Column(offset, x, width))
        x += width
    beats = frozenset(inside.difference(filled).intersection(beat - missing for beat in metre.beats))
    return MeasureColumns(tuple(columns), x, beats)


def _tuplets(measure: Measure) -> list[tuple[Fraction, Fraction]]:
    """Where each tuplet of a measure begins and ends."""
    ends = [*measure.onsets[1:], measure.length]
    groups = tuplet_groups([event.duration for event in measure.events])
    return [(measure.onsets[first], ends[last]) for first, last in groups]


def _is_sparse(measure: Measure, metre: Metre, missing: Fraction) -> bool:
    """Whether a measure has notes, and all its events begin on beats: what lies between them takes little room."""
    if all(event.is_rest for event in measure.events):
        return False
    if metre.unit >= 8:
        return all(onset + missing in metre.beats for onset in measure.onsets)
    return all((onset + missing).denominator == 1 for onset in measure.onsets)


def _even_out(widths: list[int], lengths: list[Fraction], span: slice) -> None:
    """Make some neighbouring columns as wide as they are long, the tightest of them as it was."""
    parts = lcm(*(length.denominator for length in lengths[span]))
    shares = [int(length * parts) for length in lengths[span]]
    common = gcd(*shares)
    shares = [share // common for share in shares]
    wide = max(-(-width // share) for width, share in zip(widths[span], shares, strict=True))
    widths[span] = [wide * share for share in shares]


def _needs(
    measure: Measure, metre: Metre, missing: Fraction, offsets: list[Fraction], wanted: Needs
) -> dict[Fraction, int]:
    """Characters of the widest cell at each offset."""
    needs = {offset: _need(event) for offset, event in measure.timed()}
    source = [(offset, _source_need(event)) for offset, event in measure.timed_source()]
    signs = rhythm_signs(measure.events)
    values = [
        (offset, len(sign.lstrip(BRACKET)) + following.startswith(BRACKET))
        for offset, sign, following in zip(measure.onsets, signs, [*signs[1:], ""], strict=True)
    ]
    counts = [(offset, 2) for offset in offsets if metre.count >= 10 and _has_long_count(offset + missing, metre)]
    for offset, need in (*source, *values, *counts, *wanted):
        needs[offset] = max(need, needs.get(offset, 0))
    return needs


def _least(length: Fraction, short_rest: Fraction) -> int:
    """Characters that a length has at least, where one as long as a short rest has room for its sign."""
    if length >= min(Fraction(1, 2), short_rest):
        return max(4, int(8 * length))
    return 3 if length >= Fraction(1, 8) else 2


def _need(event: Event) -> int:
    """Characters of the widest cell of an event; its fingers have room before they are known."""
    cells = [len(note_cell(None, event, note)) for note in event.notes]
    fingers = len(event.notes) if any(note.fret for note in event.notes) else 1
    return max([*cells, fingers, len(finger_cell(event)), len(stroke_cell(event))])


def _source_need(event: SourceEvent) -> int:
    """Characters of the pitches of a moment of the original, and of a sign behind them."""
    names = [3 if pitch % 12 in _BLACK else 2 for pitch in event.pitches]
    return sum(names) + len(names) + 2 * (event.tied + len(event.held) + len(event.proposed))


def _has_long_count(at: Fraction, metre: Metre) -> bool:
    """Whether a moment is counted by a number of two figures."""
    units = at * metre.unit / 4
    return units >= 9 and units.denominator == 1


def _make_room_for_chords(measure: Measure, offsets: list[Fraction], widths: list[int]) -> None:
    """Widen the column of each chord symbol that would run into the next one, or over the bar line."""
    sizes = {mark.offset: len(mark.symbol) + len("?9") for mark in measure.heard_chords}
    sizes |= {mark.offset: len(mark.symbol) for mark in measure.chords}
    marks = sorted(sizes)
    for number, offset in enumerate(marks):
        first = offsets.index(offset)
        last = offsets.index(marks[number + 1]) if number + 1 < len(marks) else len(offsets)
        missing = sizes[offset] + 1 - sum(widths[first:last])
        widths[first] += max(missing, 0)
