"""Sorting the lines of a text tab: systems, rows beside them, head, marks, words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from tabterm.harmony.chords import parse_chord

LABELS = ("chord", "count", "rhythm", "finger", "stroke", "degree")
_LABEL = re.compile(rf"^({'|'.join(LABELS)})\b", re.IGNORECASE)
_COURSE = re.compile(r"^(\s*(?:[A-Ga-g][#b]?)?\s*)([|:\-\d(hpxX/\\^_{].*)$")
_COURSE_SIGNS = re.compile(r"^[-|:\]\[\d(){}hpbrcxXHPsSvt~=>'%/\\^_,.* <]*$")
_COUNT_WORDS = re.compile(r"^(?:\d{1,2}|&|\+|e|a|ah|and)$", re.IGNORECASE)
_RHYTHM_WORDS = re.compile(r"^[whqestWHQS]\.{0,2}$")
_STROKE_WORDS = re.compile(r"^[DUduVvn⊓]$")


@dataclass(frozen=True, slots=True)
class CourseLine:
    """A line of a system: its number in the file from 1, where its body begins, and the body."""

    number: int
    start: int
    body: str


@dataclass(slots=True)
class System:
    """Course lines that belong together, and the rows beside them: row name -> (line number, line)."""

    courses: list[CourseLine]
    rows: dict[str, tuple[int, str]] = field(default_factory=dict)
    labelled: bool = False


def course_line(number: int, line: str) -> CourseLine | None:
    """The course line that a line is, or None."""
    match = _COURSE.match(line)
    if match is None:
        return None
    body = match.group(2).rstrip()
    dashes = body.count("-")
    named = bool(match.group(1).strip())
    enough = dashes >= (1 if named else max(3, len(body) * 0.25))
    if not enough or not _COURSE_SIGNS.match(body):
        return None
    return CourseLine(number, match.start(2), body)


def label_of(line: str) -> str | None:
    """The row that a line says it is, or None."""
    match = _LABEL.match(line)
    return match.group(1).lower() if match else None


def row_of(line: str) -> str | None:
    """The row that a line without a name looks like, or None."""
    words = line.split()
    if not words:
        return None
    if all(parse_chord(word) is not None for word in words):
        return "chord"
    if all(_COUNT_WORDS.match(word) for word in words) and words[0].isdigit():
        return "count"
    if all(_RHYTHM_WORDS.match(word) for word in words):
        return "rhythm"
    if all(_STROKE_WORDS.match(word) for word in words):
        return "stroke"
    return None


def words_at(line: str, start: int = 0) -> list[tuple[int, str]]:
    """The words of a line with their characters; those that begin before `start` are left out."""
    return [(match.start(), match.group()) for match in re.finditer(r"\S+", line) if match.start() >= start]
