"""Sorting the lines of a text tab: systems, rows beside them, head, marks, words."""

from __future__ import annotations

import re
from dataclasses import field

from tabterm.dataclass import dataclass
from tabterm.formats.text.header import LETTER
from tabterm.page.rows import BETWEEN_CHORDS, PRINTED, row_named

_LABEL = re.compile(rf"^({'|'.join(row.name for row in PRINTED)})s?(?:  |: |:?$|(?= \[))", re.IGNORECASE)
_NAME = re.compile(rf"^ *(?:({LETTER})(?:-(?=\|)|:)?(?= *[-|:\d(hpxX/\\^_{{]))? *")
_COURSE_SIGNS = re.compile(r"^[-|:\]\[\d(){}hpbrcxXHPsSvt~=@>';%/\\^_,.* <]*$")
_STARTS = re.compile(r"^[-|:\d(hpxX/\\^_{]")
BAR_SIGNS = str.maketrans(
    dict.fromkeys("\u00a6\u2502\u2503\u2506\u2507\u250a\u250b\u254e\u254f\u2551\u2758\uff5c\u23d0", "|")
    | dict.fromkeys(map(chr, range(0x250C, 0x254C)), "|")
    | dict.fromkeys(map(chr, range(0x2552, 0x256D)), "|")
)
"""Other bars that lines are cut with: broken bar, box drawing (Unicode)."""

LINE_SIGNS = BAR_SIGNS | str.maketrans(
    dict.fromkeys(
        "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\u00ad\u2500\u2501\u2504\u2505\u2508\u2509\u254c\u254d\u2550\u23af\x96\x97",
        "-",
    )
)
"""Those, and other dashes that lines are drawn with: as they are in Unicode and, at the end, in Windows-1252."""

SHORT = 3
"""With fewer dashes and no bar line, `A-7` is a chord, not a course with a note."""

COUNT_PARTS = re.compile(r"\d{1,2}|&|\+|and|ah|e|a", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True, slots=True)
class CourseLine:
    """A line of a system.

    Attributes:
        number: Its number in the file, from 1.
        name: The letter before it, or "".
        start: Character where its body begins.
        body: Bar lines, dashes and notes.
        tail: What stands behind its last bar line and is no measure, or "".
    """

    number: int
    name: str
    start: int
    body: str
    tail: str = ""


@dataclass(slots=True)
class SystemLines:
    """Course lines that belong together, and the rows beside them: row name -> (line number, line)."""

    courses: list[CourseLine]
    rows: dict[str, tuple[int, str]] = field(default_factory=dict)

    def split(self, size: int) -> list[SystemLines]:
        """Systems of `size` lines each, where several stand below each other without a gap."""
        names = [line.name for line in self.courses]
        groups, rest = divmod(len(names), size)
        if groups < 2 or rest or names != names[:size] * groups:
            return [self]
        starts = range(0, len(names), size)
        return [SystemLines(self.courses[start : start + size]) for start in starts]


def course_line(number: int, line: str) -> CourseLine | None:
    """The course line that a line is, or None."""
    line = line.translate(LINE_SIGNS)
    match = _NAME.match(line)
    name, start = (match.group(1) or "", match.end()) if match else ("", 0)
    body = line[start:].rstrip()
    last = body.rfind("|") + 1
    after = body[last:].removeprefix("]")
    tail = after if last and after.strip() and "-" not in after else ""
    body = body[: len(body) - len(tail)].rstrip()
    dashes = body.count("-")
    if not _STARTS.match(body) or dashes < (1 if name else 3):
        return None
    if dashes < SHORT and not last and row_of(line) == "chord":
        return None
    plain = (name or dashes >= len(body) * 0.25) and _COURSE_SIGNS.match(body)
    mostly_dashes = last and dashes >= 3 and dashes * 2 >= len(body)
    return CourseLine(number, name, start, body, tail) if plain or mostly_dashes else None


def label_of(line: str) -> str | None:
    """The row that a line says it is, or None."""
    match = _LABEL.match(line)
    return match.group(1).lower() if match else None


def row_of(line: str) -> str | None:
    """The row that a line is by its name or, without one, looks like; or None."""
    line = line.translate(BAR_SIGNS)
    label = label_of(line)
    words = line.replace("|", " ").split()
    if label or not words:
        return label
    return next((row.name for row in PRINTED if row.told_by is not None and row.told_by(words)), None)


def stands_above(name: str | None) -> bool:
    """Whether a row stands over the courses."""
    row = row_named(name or "")
    return row is not None and row.above


def words_at(line: str, row: str) -> list[tuple[int, str]]:
    """The words of a row with their characters; without its name, or the bar lines of a row without one."""
    label = _LABEL.match(line)
    text = line[label.end() :].rjust(len(line)) if label else line.translate(BAR_SIGNS).replace("|", " ")
    words = [(match.start(), match.group()) for match in re.finditer(r"[^ ]+", text)]
    if label or row != "chord":
        return words
    return [(x + (word[0] in "(["), word) for x, word in words if word not in BETWEEN_CHORDS]
