"""Writing text tab in systems that fit a width."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.formats.text.header import write_header
from tabterm.formats.text.marks import marks_line
from tabterm.page.columns import lay_out
from tabterm.page.rows import PRINTED, Row, row_named
from tabterm.page.signs import course_cells
from tabterm.score.kinds import Barline

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from fractions import Fraction

    from tabterm.page.columns import Column, MeasureColumns
    from tabterm.score.model import Score

ROWS = tuple(row.name for row in PRINTED)
"""Rows that may stand beside the courses."""

DEFAULT_ROWS = tuple(row.name for row in PRINTED if row.unasked)
LABEL = 7
"""Characters left of a system, for the names of the rows."""

NARROWEST, WIDEST = 20, 400
BARS = {Barline.SINGLE: "|", Barline.DOUBLE: "||", Barline.FINAL: "|]"}


@dataclass(frozen=True, slots=True)
class Chunk:
    """A measure, or a part of one that is wider than the page, between two of its columns.

    Attributes:
        index: Which measure.
        layout: All its columns.
        first: The number of the first of them that stands here.
        last: That of the first one behind.
    """

    index: int
    layout: MeasureColumns
    first: int
    last: int

    @property
    def begins(self) -> bool:
        """The measure begins here."""
        return self.first == 0

    @property
    def ends(self) -> bool:
        """It ends here."""
        return self.last == len(self.layout.columns)

    @property
    def columns(self) -> tuple[Column, ...]:
        """What stands here of it."""
        return self.layout.columns[self.first : self.last]

    def x_of(self, offset: Fraction) -> int | None:
        """The character of an offset, None where that stands elsewhere."""
        here = self.columns[0].offset <= offset and (self.ends or offset < self.layout.columns[self.last].offset)
        return self.layout.x_of(offset) - self.columns[0].x if here else None


def write(score: Score, *, width: int = 80, rows: Sequence[str] = DEFAULT_ROWS) -> bytes:
    """A score as text tab in UTF-8, in lines of at most `width` characters (20 to 400).

    A single column that is wider than the page, and the lines of the head and of marks, are not broken.

    Raises:
        FormatError: The width is out of range, or there is no such row.
    """
    asked = asked_rows(rows)
    lines = write_header(score.head)
    for system in systems_of(score, range(len(score.measures)), width, asked):
        lines += ["", *marks_lines(score, system), *system_lines(score, system, asked)]
    return ("\n".join(lines) + "\n").encode()


def asked_rows(names: Sequence[str]) -> list[Row]:
    """The rows of these names; raises FormatError where a text tab has no such row."""
    return [_asked(name) for name in names]


def _asked(name: str) -> Row:
    row = row_named(name, PRINTED)
    if row is None:
        raise FormatError(f"no row '{name}'", hint=f"one of: {', '.join(ROWS)}")
    return row


def systems_of(score: Score, indices: range, width: int, rows: Sequence[Row]) -> list[list[Chunk]]:
    """Measures in systems that fit a width; raises FormatError for a width out of range."""
    if not NARROWEST <= width <= WIDEST:
        raise FormatError(f"a width of {width} characters cannot be used", hint="20 to 400")
    systems: list[list[Chunk]] = []
    room = 0
    for index in indices:
        for chunk in _chunks(score, index, width - LABEL - 1, rows):
            needed = chunk_width(score, chunk)
            begins = chunk.begins and score.measures[index].break_before is not None
            if not systems or begins or needed > room or not systems[-1][-1].ends:
                systems.append([])
                room = width - LABEL - 1
            systems[-1].append(chunk)
            room -= needed
    return systems


def _chunks(score: Score, index: int, room: int, rows: Sequence[Row]) -> list[Chunk]:
    """The measure in parts that fit the room, broken at beats where that is possible."""
    layout = _text_columns(score, index, rows)
    columns = layout.columns
    whole = Chunk(index, layout, 0, len(columns))
    if chunk_width(score, whole) <= room:
        return [whole]
    beats = set(score.metres[index].beats)
    bounds = [0]
    used, last_beat = 0, 0
    for number, column in enumerate(columns):
        if column.offset in beats:
            last_beat = number
        if used + column.width > room - 4 and number > bounds[-1]:
            bounds.append(last_beat if last_beat > bounds[-1] else number)
            used = sum(each.width for each in columns[bounds[-1] : number])
        used += column.width
    bounds.append(len(columns))
    return [Chunk(index, layout, low, high) for low, high in pairwise(bounds)]


def _text_columns(score: Score, index: int, rows: Sequence[Row]) -> MeasureColumns:
    """A measure's columns, wide enough for the cells of the rows as a file keeps them."""
    needs: dict[Fraction, int] = {}
    for row in rows:
        for offset, text in _texts(score, index, row).items():
            needs[offset] = max(needs.get(offset, 0), len(text) - row.lead(text))
    return lay_out(score, index, tuple(needs.items()))


def chunk_width(score: Score, chunk: Chunk) -> int:
    """Characters of it, with its repeat dots and its bar line."""
    measure = score.measures[chunk.index]
    start = int(measure.repeat_start) if chunk.begins else 0
    end = len(BARS[measure.barline]) + int(measure.repeat_times > 0) if chunk.ends else 0
    return sum(column.width for column in chunk.columns) + start + end


def marks_lines(score: Score, system: list[Chunk]) -> list[str]:
    """What is kept of its measures and fits no row."""
    found = (marks_line(score.measures[chunk.index], chunk.index + 1) for chunk in system if chunk.begins)
    return [line for line in found if line]


def system_lines(score: Score, system: list[Chunk], rows: Sequence[Row]) -> list[str]:
    """Its courses, and the rows above and below them."""
    lines = [_row_line(score, system, row) for row in PRINTED if row.above and row in rows]
    letters = score.head.instrument.course_letters()
    for course, letter in enumerate(letters, 1):
        lines.append(f"{letter:<{LABEL}}" + _course_line(score, system, course))
    lines += [_row_line(score, system, row) for row in rows if not row.above]
    return [line.rstrip(" ") for line in lines]


def _course_line(score: Score, system: list[Chunk], course: int) -> str:
    text = "|" if system[0].begins else ""
    text = text or " "
    for chunk in system:
        measure = score.measures[chunk.index]
        cells = course_cells(score, chunk.index)
        text += ":" if chunk.begins and measure.repeat_start else ""
        for column in chunk.columns:
            text += cells.get((column.offset, course), "").ljust(column.width, "-")
        if chunk.ends:
            text += (":" if measure.repeat_times else "") + BARS[measure.barline]
    return text


def _row_line(score: Score, system: list[Chunk], row: Row) -> str:
    text, at = row.name, LABEL + 1
    for chunk in system:
        start = at + int(chunk.begins and score.measures[chunk.index].repeat_start)
        for offset, cell in _texts(score, chunk.index, row).items():
            x = chunk.x_of(offset)
            if x is not None:
                begin = start + x - row.lead(cell)
                text = text[:begin].ljust(begin) + cell
        at += chunk_width(score, chunk)
    return text


def _texts(score: Score, index: int, row: Row) -> Mapping[Fraction, str]:
    return {} if row.printed is None else row.printed(score, index)
