"""From the lines of a system to measures: bar lines, notes, and the rows beside them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.formats import Remark
from tabterm.formats.text.cells import Cell, read_cells
from tabterm.formats.text.lines import words_at
from tabterm.formats.text.rhythm import read_duration
from tabterm.score.model import Barline, Stroke

if TYPE_CHECKING:
    from tabterm.formats.text.lines import CourseLine, System
    from tabterm.score.duration import Duration

_BAR = re.compile(r"\|\||\|\]|\|")
BARLINES = {"|": Barline.SINGLE, "||": Barline.DOUBLE, "|]": Barline.FINAL}
STROKES = {"d": Stroke.DOWN, "n": Stroke.DOWN, "⊓": Stroke.DOWN, "u": Stroke.UP, "v": Stroke.UP}


@dataclass(slots=True)
class Segment:
    """What stands between two bar lines of a system.

    Attributes:
        line: Number of the line of its highest course.
        start: Character where it begins on that line.
        width: Characters up to its bar line.
        cells: Its notes by character, highest course first.
        rhythm: (character, duration) of its rhythm row.
        rows: (character, word) of the other rows.
        barline: The line at its end, or None where the line breaks off.
        opened: It begins behind a bar line.
        repeat_start: A repeat sign at its start.
        repeat_end: A repeat sign at its end.
    """

    line: int
    start: int
    width: int
    cells: list[Cell] = field(default_factory=list)
    rhythm: list[tuple[int, Duration]] = field(default_factory=list)
    rows: dict[str, list[tuple[int, str]]] = field(default_factory=dict)
    barline: Barline | None = None
    opened: bool = True
    repeat_start: bool = False
    repeat_end: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of one course line between two bar lines."""

    start: int
    text: str
    bar: str


def split_at_bars(line: CourseLine) -> tuple[list[Part], bool]:
    """The stretches of a course line, and whether it begins with a bar line."""
    parts: list[Part] = []
    at = 0
    opened = False
    for match in _BAR.finditer(line.body):
        if match.start() == 0 or (at == 0 and not line.body[: match.start()].strip()):
            opened, at = True, match.end()
            continue
        if match.start() > at:
            parts.append(Part(line.start + at, line.body[at : match.start()], match.group()))
        at = match.end()
    if line.body[at:].strip():
        parts.append(Part(line.start + at, line.body[at:], ""))
    return parts, opened


def read_system(system: System, remarks: list[Remark]) -> list[Segment]:
    """The segments of a system; what cannot be read is remarked on."""
    split = [split_at_bars(line) for line in system.courses]
    count = max(len(parts) for parts, _ in split)
    for line, (parts, _) in zip(system.courses, split, strict=True):
        if len(parts) != count:
            remarks.append(
                Remark(line.number, 1, f"{len(parts)} measures here, {count} on another line of the system")
            )
    fullest = next(parts for parts, _ in split if len(parts) == count)
    segments = []
    for number in range(count):
        segment = _segment(fullest[number], system.courses[0].number)
        segment.opened = number > 0 or split[0][1]
        for course, (line, (parts, _)) in enumerate(zip(system.courses, split, strict=True), 1):
            if number < len(parts):
                _read_part(segment, parts[number], course, line.number, remarks)
        segments.append(segment)
    _read_rows(system, segments, remarks)
    return segments


def _segment(part: Part, line: int) -> Segment:
    text = part.text
    segment = Segment(line, part.start, len(text), barline=BARLINES.get(part.bar))
    if text.startswith(":"):
        segment.repeat_start = True
        segment.start += 1
        segment.width -= 1
    if text.endswith(":"):
        segment.repeat_end = True
        segment.width -= 1
    return segment


def _read_part(segment: Segment, part: Part, course: int, line: int, remarks: list[Remark]) -> None:
    lead = len(part.text) - len(part.text.lstrip(":"))
    for found in read_cells(part.text.strip(":"), course):
        if isinstance(found, Cell):
            segment.cells.append(found)
        else:
            remarks.append(Remark(line, part.start + lead + found.x + 1, f"'{found.text}' is no note"))


def _read_rows(system: System, segments: list[Segment], remarks: list[Remark]) -> None:
    for row, (number, line) in system.rows.items():
        for x, word in words_at(line, len(row) if system.labelled else 0):
            segment = _segment_at(segments, x)
            if segment is None:
                continue
            if row == "rhythm":
                duration = read_duration(word)
                if duration is None:
                    remarks.append(Remark(number, x + 1, f"'{word}' is no duration"))
                else:
                    segment.rhythm.append((x - segment.start, duration))
            else:
                segment.rows.setdefault(row, []).append((x - segment.start, word))


def _segment_at(segments: list[Segment], x: int) -> Segment | None:
    """The segment that a character lies in; a little before its bar line counts too."""
    found = [segment for segment in segments if segment.start - 1 <= x]
    return found[-1] if found else (segments[0] if segments else None)


def count_points(segment: Segment, unit: Fraction) -> list[tuple[int, Fraction]]:
    """(character, offset) of the words of a count row; a number counts `unit`s."""
    points: list[tuple[int, Fraction]] = []
    beat = Fraction(0)
    parts = {"&": Fraction(1, 2), "+": Fraction(1, 2), "and": Fraction(1, 2), "e": Fraction(1, 4)}
    parts |= {"a": Fraction(3, 4), "ah": Fraction(3, 4)}
    for x, word in segment.rows.get("count", []):
        if word.isdigit():
            beat = (int(word) - 1) * unit
            points.append((x, beat))
        elif word.lower() in parts:
            points.append((x, beat + parts[word.lower()] * unit))
    return points
