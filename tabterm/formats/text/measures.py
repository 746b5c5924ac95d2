"""From the lines of a system to measures: bar lines, notes, and the rows beside them."""

from __future__ import annotations

import re
from dataclasses import field, replace
from itertools import zip_longest
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.text.cells import Cell, read_cells
from tabterm.formats.text.lines import words_at
from tabterm.formats.text.rhythm import read_value
from tabterm.page.rows import RHYTHM
from tabterm.page.signs import BRACKET
from tabterm.score.kinds import Barline

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.text.lines import CourseLine, SystemLines
    from tabterm.formats.text.rhythm import RowValue
    from tabterm.score.report import Reporter


_BAR = re.compile(r"\|\||\|\]|\|")
BARLINES = {"|": Barline.SINGLE, "||": Barline.DOUBLE, "|]": Barline.FINAL}
DOTS = (":", "*", "o", "•")
"""Signs beside a bar line that make it a repeat (common practice, no source)."""


@dataclass(slots=True)
class Segment:
    """What stands between two bar lines of a system.

    Attributes:
        line: Number of the line of its highest course.
        start: Character where it begins on that line.
        width: Characters up to the first of its bar lines behind all notes.
        cells: Its notes by character, highest course first.
        has_rhythm: Its system has a row of durations.
        rhythm: The values of that row.
        rows: (character, word) of the other rows.
        row_lines: Numbers of the lines of those rows.
        barline: The line at its end, or None where the line breaks off.
        opened: It begins behind a bar line.
        repeat_start: A repeat sign at its start.
        repeat_end: A repeat sign at its end.
    """

    line: int
    start: int
    width: int
    cells: list[Cell] = field(default_factory=list)
    has_rhythm: bool = False
    rhythm: list[RowValue] = field(default_factory=list)
    rows: dict[str, list[tuple[int, str]]] = field(default_factory=dict)
    row_lines: dict[str, int] = field(default_factory=dict)
    barline: Barline | None = None
    opened: bool = True
    repeat_start: bool = False
    repeat_end: bool = False

    def at(self, x: int = 0, row: str = "") -> tuple[int, int]:
        """Line and column of a character of the segment, in one of its rows or in its first line."""
        return self.row_lines.get(row, self.line), max(self.start + x, 0) + 1


@dataclass(frozen=True, slots=True)
class CoursePart:
    """A stretch of one course line between two bar lines: the line's number, first character, text, bar line."""

    line: int
    start: int
    text: str
    bar: str


def split_at_bars(line: CourseLine) -> tuple[list[CoursePart], bool]:
    """The stretches of a course line, and whether it begins with a bar line."""
    parts: list[CoursePart] = []
    at = 0
    opened = False
    for match in _BAR.finditer(line.body):
        if at == 0 and not line.body[: match.start()].strip():
            opened, at = True, match.end()
            continue
        if match.start() > at:
            parts.append(CoursePart(line.number, line.start + at, line.body[at : match.start()], match.group()))
        at = match.end()
    if line.body[at:].strip():
        parts.append(CoursePart(line.number, line.start + at, line.body[at:], ""))
    return parts, opened


def read_system(system: SystemLines, report: Reporter) -> list[Segment]:
    """The segments of a system; what cannot be read is remarked on."""
    split = [split_at_bars(line) for line in system.courses]
    count = max(len(parts) for parts, _ in split)
    for line, (parts, _) in zip(system.courses, split, strict=True):
        if len(parts) != count:
            text = f"{len(parts)} measures here, {count} on another line of the system"
            report.left_out(text, line.number, 1)
        if line.tail:
            column = line.start + len(line.body) + len(line.tail) - len(line.tail.lstrip()) + 1
            report.left_out(f"'{line.tail.strip()}' after the last bar line is left out", line.number, column)
    segments = [_segment(parts, report) for parts in zip_longest(*(parts for parts, _ in split))]
    if segments:
        segments[0].opened = any(opened for _, opened in split)
    for segment in segments:
        segment.has_rhythm = "rhythm" in system.rows
    _read_rows(system, segments, report)
    return segments


def _segment(parts: Sequence[CoursePart | None], report: Reporter) -> Segment:
    """One measure of a system: its part of every course line, None where a line ends before."""
    there = [part for part in parts if part is not None]
    lead = int(any(part.text.startswith(DOTS) for part in there))
    trail = int(any(part.text[lead:].endswith(DOTS) for part in there))
    first = there[0]
    segment = Segment(first.line, first.start + lead, 0, barline=BARLINES.get(first.bar))
    segment.repeat_start, segment.repeat_end = bool(lead), bool(trail)
    for course, part in enumerate(parts, 1):
        if part is not None:
            _read_part(segment, part, course, lead, report)
    last = max((cell.fret_x for cell in segment.cells), default=0)
    widths = [(len(part.text) - lead - trail, part.bar) for part in there]
    segment.width = min((width for width, bar in widths if bar and width > last), default=max(widths)[0])
    return segment


def _read_part(segment: Segment, part: CoursePart, course: int, lead: int, report: Reporter) -> None:
    """The notes of a part; the dots of repeat signs count as dashes, as they do on the other lines."""
    text = part.text
    text = "-" + text[1:] if text.startswith(DOTS) else text
    text = text[:-1] + "-" if text.endswith(DOTS) else text
    for found in read_cells(text, course):
        if isinstance(found, Cell):
            segment.cells.append(replace(found, x=max(found.x - lead, 0), fret_x=max(found.fret_x - lead, 0)))
            lost = [f"{what} is left out" for what in found.lost]
        else:
            lost = [f"not a note: '{found.text:.40}'"]
        for text in lost:
            report.left_out(text, part.line, part.start + found.x + 1)


def _read_rows(system: SystemLines, segments: list[Segment], report: Reporter) -> None:
    for row, (number, line) in system.rows.items():
        for segment in segments:
            segment.row_lines[row] = number
        for x, word in words_at(line, row):
            begins = x + (row == RHYTHM.name and word.startswith(BRACKET))
            found = [segment for segment in segments if segment.start - 1 <= begins]
            segment = found[-1] if found else segments[0]
            if row == RHYTHM.name:
                value = read_value(word, begins - segment.start)
                if value is None:
                    said = f"not a note value: '{word:.40}' (such as 8, 4., -8 for a rest, [8 8 8]3)"
                    report.left_out(said, number, x + 1)
                else:
                    segment.rhythm.append(value)
            else:
                segment.rows.setdefault(row, []).append((x - segment.start, word))
