"""The page of a text tab: its lines sorted into head, marks, systems and words."""

from __future__ import annotations

import re
from dataclasses import field
from typing import Any

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, TabtermError
from tabterm.formats.text import lines as sorting
from tabterm.formats.text.header import BAD_VALUE, apply_header, read_header_line, tuned_to
from tabterm.formats.text.lines import SystemLines
from tabterm.formats.text.marks import read_marks_line, unreadable
from tabterm.instrument import PRESETS, pitch_name
from tabterm.score.model import Head
from tabterm.score.report import Reporter

_BREAK = re.compile(r"\r\n|\r|\n|\f|\v|\x85|\u2028|\u2029")
_SPACES = re.compile("[\u00a0\u2000-\u200a\u202f\u205f\u3000]")
TAB_WIDTH = 8


@dataclass(slots=True)
class Page:
    """The lines of a text tab, sorted.

    Attributes:
        head: What its head says.
        named: Names of the lines of its head.
        systems: Its systems, in order.
        marks: Number of the line and fields of measures by number from 1, from the lines of marks.
        words: Other words before each system, by the system's number from 0 (the last: behind all).
        report: Takes what could not be read.
    """

    head: Head = field(default_factory=Head)
    named: set[str] = field(default_factory=set)
    systems: list[SystemLines] = field(default_factory=list)
    marks: dict[int, tuple[int, dict[str, Any]]] = field(default_factory=dict)
    words: dict[int, list[str]] = field(default_factory=dict)
    report: Reporter = field(default_factory=Reporter)

    def add_words(self, text: str) -> None:
        """Keep words that stand before the next system."""
        self.words.setdefault(len(self.systems), []).append(text.strip())


def read_page(data: bytes) -> Page:
    """Sort the lines of a file; UTF-8, or Latin-1 where it is not."""
    text = _SPACES.sub(" ", _decode(data)).expandtabs(TAB_WIDTH)
    page = _sort(_BREAK.split(text))
    _tune(page)
    return page


def _decode(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _sort(lines: list[str]) -> Page:
    page = Page()
    at = 0
    beside: list[tuple[int, str]] = []
    while at < len(lines):
        courses = []
        while at < len(lines) and (found := sorting.course_line(at + 1, lines[at])) is not None:
            courses.append(found)
            at += 1
        if not courses:
            _sort_line(page, at + 1, lines[at], beside)
            at += 1
            continue
        systems = SystemLines(courses).split(page.head.instrument.course_count)
        for number, line in beside:
            _take_row(page, systems[0], number, line)
        beside = []
        end = _end_of_rows(lines, at)
        for number in range(at, end):
            _take_row(page, systems[-1], number + 1, lines[number])
        at = end
        for system in systems:
            _check_size(page, system)
        page.systems += systems
    for _, line in beside:
        page.add_words(line)
    return page


def _end_of_rows(lines: list[str], start: int) -> int:
    """Where the rows below a system end; rows that stand right above another one belong to that."""
    at = start
    while at < len(lines) and sorting.row_of(lines[at]):
        at += 1
    if at < len(lines) and sorting.course_line(at, lines[at]):
        while at > start and sorting.stands_above(sorting.row_of(lines[at - 1])):
            at -= 1
    return at


def _check_size(page: Page, system: SystemLines) -> None:
    size, wanted = len(system.courses), page.head.instrument.course_count
    if size != wanted:
        text = f"a system of {size} lines is left out: this instrument has {wanted} courses"
        page.report.changed(text, system.courses[0].number, 1)


def _sort_line(page: Page, number: int, line: str, beside: list[tuple[int, str]]) -> None:
    """A line that is no course line: head, marks, a row above the next system, or words."""
    if not line.strip():
        for _, text in beside:
            page.add_words(text)
        beside.clear()
        return
    try:
        marks = read_marks_line(line)
    except FormatError as error:
        page.report.left_out(f"{error}: the line is left out", number, 1)
        return
    header = None if page.systems else read_header_line(line)
    if marks is not None:
        known = page.marks.get(marks[0], (number, {}))[1]
        page.marks[marks[0]] = (number, known | marks[1])
    elif header is not None:
        _take_header(page, number, *header)
    elif sorting.row_of(line):
        beside.append((number, line))
    else:
        page.add_words(line)


def _take_header(page: Page, number: int, name: str, value: str) -> None:
    try:
        page.head = apply_header(page.head, name, value)
        page.named.add(name)
    except BAD_VALUE as error:
        page.report.left_out(str(unreadable(name, value, error)), number, 1)


def _take_row(page: Page, system: SystemLines, number: int, line: str) -> None:
    row = sorting.row_of(line)
    if row is None or row in system.rows:
        page.report.left_out("a second row of the same kind is left out", number, 1)
    else:
        system.rows[row] = (number, line)


def _tune(page: Page) -> None:
    """Tune to the course letters where the head does not say how; turn lines over that stand upside down."""
    instrument = page.head.instrument
    size = instrument.course_count
    named = [
        each.courses for each in page.systems if len(each.courses) == size and all(c.name for c in each.courses)
    ]
    if not named:
        return
    number, letters = named[0][0].number, [line.name for line in named[0]]
    told = bool(page.named & {"instrument", "tuning"})
    try:
        tuned, turned = tuned_to(letters, (instrument,) if told else PRESETS.values())
    except (TabtermError, ValueError):
        return
    if told and tuned != instrument:
        text, turned = "the course letters disagree with the tuning above, which is kept", False
    else:
        page.head = page.head.with_(instrument=tuned)
        pitches = " ".join(pitch_name(course.pitch) for course in tuned.courses)
        text = f"the course letters are read as {tuned.name}, tuned {pitches}" if tuned != instrument else ""
    if turned:
        for system in page.systems:
            system.courses.reverse()
        text = "; ".join(part for part in (text, "the lowest course is on top: the lines are turned over") if part)
    if text:
        page.report.changed(text, number, 1)
