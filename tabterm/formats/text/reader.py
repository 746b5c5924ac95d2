"""Reading text tab: our own, and what people really write."""

from __future__ import annotations

import statistics
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from tabterm.errors import FormatError, TabtermError
from tabterm.formats import Reading, Remark
from tabterm.formats.text import lines as sorting
from tabterm.formats.text.events import Assembly, assemble
from tabterm.formats.text.header import BAD_VALUE, apply_header, read_header_line
from tabterm.formats.text.lines import System
from tabterm.formats.text.marks import read_marks_line
from tabterm.formats.text.measures import Segment, read_system
from tabterm.score.model import Head, Measure, Score
from tabterm.score.operations.draft import heal_event

if TYPE_CHECKING:
    from tabterm.score.model import Event

NARROW = 0.7
"""A first measure narrower than this part of the others, with no row of durations, is taken for a pickup."""


@dataclass(slots=True)
class Page:
    """The lines of a text tab, sorted.

    Attributes:
        head: What its head says.
        systems: Its systems, in order.
        marks: Fields of measures by number from 1, from the lines of marks.
        words: Other words before each system, by the system's number from 0 (the last: behind all).
        remarks: What could not be read.
    """

    head: Head = field(default_factory=Head)
    systems: list[System] = field(default_factory=list)
    marks: dict[int, dict[str, Any]] = field(default_factory=dict)
    words: dict[int, list[str]] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)


def read(data: bytes) -> Reading:
    """The score in a text tab, with remarks on what was not read, or proposed.

    Raises:
        FormatError: There is no system of as many lines as the instrument has courses.
    """
    page = _sort(_decode(data).expandtabs(8).splitlines())
    courses = page.head.instrument.course_count
    systems = [system for system in page.systems if len(system.courses) == courses]
    if not systems:
        sizes = sorted({len(system.courses) for system in page.systems})
        found = f"only systems of {', '.join(map(str, sizes))} lines" if sizes else "no lines of dashes"
        raise FormatError(f"no tab of {courses} courses: {found}", hint="one line of dashes for each course")
    measures = _measures(page, systems)
    try:
        return Reading(Score(head=page.head, measures=tuple(measures)), tuple(sorted(page.remarks, key=_where)))
    except TabtermError as error:
        raise FormatError(error.message, place=error.place, hint=error.hint) from None


def _where(remark: Remark) -> tuple[int, int]:
    return remark.line, remark.column


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
        first = sorting.course_line(at + 1, lines[at])
        if first is None:
            _sort_line(page, at + 1, lines[at], beside)
            at += 1
            continue
        courses = []
        while at < len(lines) and (found := sorting.course_line(at + 1, lines[at])) is not None:
            courses.append(found)
            at += 1
        system = System(courses)
        for number, line in beside:
            _take_row(page, system, number, line)
        beside = []
        while at < len(lines) and (sorting.label_of(lines[at]) or sorting.row_of(lines[at])):
            _take_row(page, system, at + 1, lines[at])
            at += 1
        _check_size(page, system)
        page.systems.append(system)
    for _, line in beside:
        page.words.setdefault(len(page.systems), []).append(line.strip())
    return page


def _check_size(page: Page, system: System) -> None:
    size, wanted = len(system.courses), page.head.instrument.course_count
    if size != wanted:
        text = f"a system of {size} lines is left out: this instrument has {wanted} courses"
        page.remarks.append(Remark(system.courses[0].number, 1, text))


def _sort_line(page: Page, number: int, line: str, beside: list[tuple[int, str]]) -> None:
    """A line that is no course line: head, marks, a row above the next system, or words."""
    if not line.strip():
        for _, text in beside:
            page.words.setdefault(len(page.systems), []).append(text.strip())
        beside.clear()
        return
    try:
        marks = read_marks_line(line)
    except FormatError as error:
        page.remarks.append(Remark(number, 1, error.message))
        return
    header = read_header_line(line) if not page.systems else None
    if marks is not None:
        page.marks.setdefault(marks[0], {}).update(marks[1])
    elif header is not None:
        _take_header(page, number, *header)
    elif sorting.label_of(line) or sorting.row_of(line):
        beside.append((number, line))
    else:
        page.words.setdefault(len(page.systems), []).append(line.strip())


def _take_header(page: Page, number: int, name: str, value: str) -> None:
    try:
        page.head = apply_header(page.head, name, value)
    except BAD_VALUE:
        page.remarks.append(Remark(number, 1, f"'{value}' is no {name}"))


def _take_row(page: Page, system: System, number: int, line: str) -> None:
    label = sorting.label_of(line)
    system.labelled = system.labelled or label is not None
    row = label or sorting.row_of(line)
    if row is None or row in system.rows:
        page.remarks.append(Remark(number, 1, "a second row of the same kind is left out"))
    else:
        system.rows[row] = (number, line)


def _measures(page: Page, systems: list[System]) -> list[Measure]:
    """The measures of all systems, healed where a slur or tie has nothing to come from."""
    chunks = _joined([segment for system in systems for segment in read_system(system, page.remarks)])
    assembly = Assembly(page.head, page.remarks)
    proposed = not any(segment.rhythm for segments in chunks for segment in segments)
    if proposed:
        page.remarks.append(Remark(0, 0, "no durations are given: the rhythm is proposed from the spacing"))
        assembly.pickup = _pickup(chunks, page)
    measures: list[Measure] = []
    before: Event | None = None
    for number, segments in enumerate(chunks, 1):
        fields = dict(page.marks.get(number, {}))
        assembly.metre = fields.get("metre") or assembly.metre
        events, marks = assemble(assembly, segments, fields, first=number == 1)
        for index, event in enumerate(events):
            healed = heal_event(before, event)
            if healed is not event:
                text = f"measure {number}: a slur or tie has nothing to come from and is struck"
                page.remarks.append(Remark(segments[0].line, segments[0].start + 1, text))
            events[index] = before = healed
        measures.append(Measure(events=tuple(events), **marks))
    return _with_words(page, measures, chunks)


def _joined(segments: list[Segment]) -> list[list[Segment]]:
    """Segments by measure: a line that breaks off goes on where the next one begins without a bar line."""
    chunks: list[list[Segment]] = []
    for segment in segments:
        if chunks and chunks[-1][-1].barline is None and not segment.opened:
            chunks[-1].append(segment)
        else:
            chunks.append([segment])
    return chunks


def _pickup(chunks: list[list[Segment]], page: Page) -> Fraction | None:
    """Length of a pickup that the width of the first measure suggests, in quarters, on the eighth grid."""
    if len(chunks) < 2:
        return None
    usual = statistics.median(segments[0].width for segments in chunks[1:])
    part = chunks[0][0].width / usual
    if part >= NARROW:
        return None
    length = Fraction(round(part * float(page.head.metre.length) * 2), 2)
    page.remarks.append(
        Remark(chunks[0][0].line, 1, f"the first measure is taken for a pickup of {length} quarters")
    )
    return length if length > 0 else None


def _with_words(page: Page, measures: list[Measure], chunks: list[list[Segment]]) -> list[Measure]:
    """Words between systems become remarks of the measures behind them; the first line of all is the title."""
    words = {number: list(texts) for number, texts in page.words.items()}
    if not page.head.title and words.get(0):
        page.head = page.head.with_(title=words[0].pop(0)[:200])
    starts = [system.courses[0].number for system in page.systems]
    for number, texts in words.items():
        line = starts[number] if number < len(starts) else None
        index = next(
            (i for i, segments in enumerate(chunks) if line is not None and segments[0].line >= line),
            len(measures) - 1,
        )
        text = " ".join(part for part in (measures[index].remark, *texts) if part)
        if text:
            try:
                measures[index] = measures[index].with_(remark=text)
            except ValidationError:
                measures[index] = measures[index].with_(remark=text[:500])
                page.remarks.append(Remark(line or 0, 1, "words longer than 500 characters are cut"))
    return measures
