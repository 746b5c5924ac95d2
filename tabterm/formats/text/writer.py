"""Writing text tab in systems that fit a width."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

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
        offsets: Offsets of its columns here.
        widths: Their widths in characters.
        begins: The measure begins here.
        ends: It ends here.
    """

    index: int
    offsets: tuple[Fraction, ...]
    widths: tuple[int, ...]
    begins: bool
    ends: bool


def write(score: Score, *, width: int = 80, rows: Sequence[str] = DEFAULT_ROWS) -> bytes:
    """A score as text tab in UTF-8, in lines of at most `width` characters (20 to 400).

    A single column that is wider than the page, and the lines of the head and of marks, are not broken.

    Raises:
        FormatError: The width is out of range, or there is no such row.
    """
    if not NARROWEST <= width <= WIDEST:
        raise FormatError(f"a width of {width} characters cannot be used", hint="20 to 400")
    asked = [_asked(name) for name in rows]
    lines = write_header(score.head)
    for system in _systems(score, width, asked):
        lines += ["", *_system_lines(score, system, asked)]
    return ("\n".join(lines) + "\n").encode()


def _asked(name: str) -> Row:
    row = row_named(name, PRINTED)
    if row is None:
        raise FormatError(f"no row '{name}'", hint=f"one of: {', '.join(ROWS)}")
    return row


def _systems(score: Score, width: int, rows: Sequence[Row]) -> list[list[Chunk]]:
    systems: list[list[Chunk]] = []
    room = 0
    for index in range(len(score.measures)):
        for chunk in _chunks(score, index, width - LABEL - 1, rows):
            needed = _chunk_width(score, chunk)
            if not systems or needed > room or not systems[-1][-1].ends:
                systems.append([])
                room = width - LABEL - 1
            systems[-1].append(chunk)
            room -= needed
    return systems


def _chunks(score: Score, index: int, room: int, rows: Sequence[Row]) -> list[Chunk]:
    """The measure in parts that fit the room, broken at beats where that is possible."""
    offsets, widths = _text_columns(score, index, rows)
    whole = Chunk(index, offsets, widths, begins=True, ends=True)
    if _chunk_width(score, whole) <= room:
        return [whole]
    beats = set(score.metres[index].beats)
    bounds = [0]
    used, last_beat = 0, 0
    for number, (offset, width) in enumerate(zip(offsets, widths, strict=True)):
        if offset in beats:
            last_beat = number
        if used + width > room - 4 and number > bounds[-1]:
            bounds.append(last_beat if last_beat > bounds[-1] else number)
            used = sum(widths[bounds[-1] : number])
        used += width
    bounds.append(len(offsets))
    return [
        Chunk(index, offsets[low:high], widths[low:high], begins=low == 0, ends=high == len(offsets))
        for low, high in pairwise(bounds)
    ]


def _text_columns(score: Score, index: int, rows: Sequence[Row]) -> tuple[tuple[Fraction, ...], tuple[int, ...]]:
    """Offsets and widths of a measure's columns, wide enough for the cells of the rows as a file keeps them."""
    needs: dict[Fraction, int] = {}
    for row in rows:
        for offset, text in _texts(score, index, row).items():
            needs[offset] = max(needs.get(offset, 0), len(text) + 1)
    laid_out = lay_out(score, index).columns
    offsets = tuple(column.offset for column in laid_out)
    return offsets, tuple(max(column.width, needs.get(column.offset, 0)) for column in laid_out)


def _chunk_width(score: Score, chunk: Chunk) -> int:
    measure = score.measures[chunk.index]
    start = int(measure.repeat_start) if chunk.begins else 0
    end = len(BARS[measure.barline]) + int(measure.repeat_times > 0) if chunk.ends else 0
    return sum(chunk.widths) + start + end


def _system_lines(score: Score, system: list[Chunk], rows: Sequence[Row]) -> list[str]:
    lines = [
        line
        for chunk in system
        if chunk.begins and (line := marks_line(score.measures[chunk.index], chunk.index + 1))
    ]
    lines += [_row_line(score, system, row) for row in PRINTED if row.above and row in rows]
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
        for offset, width in zip(chunk.offsets, chunk.widths, strict=True):
            text += cells.get((offset, course), "").ljust(width, "-")
        if chunk.ends:
            text += (":" if measure.repeat_times else "") + BARS[measure.barline]
    return text


def _row_line(score: Score, system: list[Chunk], row: Row) -> str:
    text = f"{row.name:<{LABEL}} "
    for chunk in system:
        measure = score.measures[chunk.index]
        cells = _texts(score, chunk.index, row)
        text += " " if chunk.begins and measure.repeat_start else ""
        for offset, width in zip(chunk.offsets, chunk.widths, strict=True):
            text += cells.get(offset, "").ljust(width)
        if chunk.ends:
            text += " " * (len(BARS[measure.barline]) + int(measure.repeat_times > 0))
    return text


def _texts(score: Score, index: int, row: Row) -> Mapping[Fraction, str]:
    return {} if row.printed is None else row.printed(score, index)
