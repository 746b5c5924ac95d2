"""Reading the notes on a course line, and those of a segment by the moments at which they begin."""

from __future__ import annotations

import re
from dataclasses import field
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.text.spacing import Layout
from tabterm.instrument.model import MAX_FRETS
from tabterm.page.signs import DEFAULT_BEND_CENTS
from tabterm.score.kinds import BendShape, Direction, Reached
from tabterm.score.model import Note
from tabterm.score.source import Bend

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.formats.text.measures import Segment
    from tabterm.score.duration import Duration


_FRET = r"\(?(?:[xX]\d{0,2}|\d{1,2})\)?"
_SUFFIX = r"(?:b\d{1,4}c?(?:r\d{0,2})?|br?|r\d{1,4}c|r|[~=@>';%\[\]]|[/\\](?![\d(xX{^_]))"
_NOTE = re.compile(
    rf"(?P<grace>\{{[^}}]*\}})?(?:(?P<how>[hpHPsS/\\])-{{0,4}})?(?P<into>[\^_])?(?P<fret>{_FRET})(?P<suffix>(?:{_SUFFIX})*)"
)
_GRACE = re.compile(
    rf"^(?:(?P<course>\d):)?(?P<how>[hp/\\])?(?P<into>[\^_])?(?P<fret>{_FRET})(?P<suffix>(?:{_SUFFIX})*)$"
)
_BEND = re.compile(r"b(?:(\d+)(c?))?(r?)|r(?:(\d+)c)?")
_SILENT = re.compile(r"[-\s.*]")

HOW = {
    "h": Reached.HAMMER,
    "p": Reached.PULL,
    "s": Reached.SLIDE,
    "/": Reached.SLIDE,
    "\\": Reached.SLIDE,
}
EVENT_SIGNS = {">": ("accent", True), "'": ("staccato", True), ";": ("damp", True), "%": ("tremolo", True)}
EVENT_SIGNS_ROLL = {"[": ("roll", Direction.UP), "]": ("roll", Direction.DOWN)}


@dataclass(frozen=True, slots=True)
class Cell:
    """A note found on a course line.

    Attributes:
        x: Character where it begins, from the start of its measure.
        fret_x: Character of its fret.
        signs: Characters before its fret that are no dashes, and characters behind its first.
        note: The note.
        marks: Fields of its event: accent, staccato, damp, tremolo, roll, grace.
        lost: What of it could not be read.
    """

    x: int
    fret_x: int
    signs: tuple[int, int]
    note: Note
    marks: dict[str, object] = field(default_factory=dict)
    lost: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stray:
    """Something on a course line that is no note: where, from the start of its measure, and what."""

    x: int
    text: str


def read_cells(text: str, course: int) -> Iterator[Cell | Stray]:
    """The notes of one course in one measure, and what could not be read, from left to right."""
    at = 0
    while at < len(text):
        if _SILENT.match(text, at):
            at += 1
            continue
        match = _NOTE.match(text, at)
        cell = _cell(match, course) if match else None
        if match is None or cell is None:
            end = at + 1
            while end < len(text) and not _SILENT.match(text, end) and not text[end].isdigit():
                end += 1
            yield Stray(at, text[at:end])
            at = end
            continue
        yield cell
        at = match.end()


def _cell(match: re.Match[str], course: int) -> Cell | None:
    note = _note(match, course)
    if note is None:
        return None
    marks: dict[str, object] = {}
    lost = []
    if _BEND.search(match.group("suffix")) and note.bend is None:
        lost.append("a bend of less than 5 or more than 400 cents")
    for sign in match.group("suffix"):
        if sign in EVENT_SIGNS | EVENT_SIGNS_ROLL:
            name, value = (EVENT_SIGNS | EVENT_SIGNS_ROLL)[sign]
            marks[name] = value
    if match.group("grace"):
        parts = match.group("grace")[1:-1].split(",")
        graces = [_grace(part, course) for part in parts]
        marks["grace"] = tuple(grace for grace in graces if grace is not None)
        lost += [
            f"'{part:.20}' as a grace note" for part, grace in zip(parts, graces, strict=True) if grace is None
        ]
    before = match.string[match.start() : match.start("fret")]
    signs = len(before) - before.count("-"), match.end() - match.start("fret") - 1
    return Cell(match.start(), match.start("fret"), signs, note, marks, tuple(lost))


def _grace(text: str, course: int) -> Note | None:
    match = _GRACE.match(text)
    return None if match is None else _note(match, int(match.group("course") or course))


def _note(match: re.Match[str], course: int) -> Note | None:
    """The note of a match, or None where its fret is on no neck."""
    fret, suffix = match.group("fret"), match.group("suffix")
    digits = fret.strip("()xX")
    number = int(digits or 0)
    if number > MAX_FRETS or not 1 <= course <= 8:
        return None
    tied = fret.startswith("(")
    how = (match.group("how") or "").lower()
    return Note(
        course=course,
        fret=number,
        muted="x" in fret.lower(),
        tied=tied,
        reached=HOW[how] if how and not tied else Reached.STRUCK,
        slide_in={"^": Direction.UP, "_": Direction.DOWN, None: None}[match.group("into")],
        slide_out=Direction.UP if "/" in suffix else Direction.DOWN if "\\" in suffix else None,
        vibrato="~" in suffix,
        ring="=" in suffix,
        course_set="@" in suffix,
        bend=_bend(suffix, number),
    )


def _bend(suffix: str, fret: int) -> Bend | None:
    """`b`, `b100c`, `br`, `r`; also `b9`: up to the pitch of another fret, as players write it."""
    match = _BEND.search(suffix)
    if match is None:
        return None
    amount, is_cents, back, fall = match.groups()
    cents = int(fall or amount or DEFAULT_BEND_CENTS)
    if amount and not is_cents:
        cents = (int(amount) - fret) * 100
    shape = BendShape.RISE_AND_FALL if back else BendShape.RISE
    if match.group().startswith("r"):
        shape = BendShape.FALL
    return Bend(cents=cents, shape=shape) if 5 <= cents <= 400 else None


@dataclass(slots=True)
class CellGroup:
    """The notes that begin at one character of a segment, and their duration where it is known.

    `rest` says that nothing is to begin there.
    """

    x: int
    cells: list[Cell]
    duration: Duration | None = None
    rest: bool = False


def moments_of(segment: Segment) -> list[CellGroup]:
    """From left to right; notes on one course never begin together."""
    moments: list[CellGroup] = []
    for cell in sorted(segment.cells, key=lambda each: each.fret_x):
        taken = moments and any(other.note.course == cell.note.course for other in moments[-1].cells)
        if moments and cell.fret_x - moments[-1].x <= 1 and not taken:
            moments[-1].cells.append(cell)
        else:
            moments.append(CellGroup(cell.fret_x, [cell]))
    return moments


def layout_of(segment: Segment, moments: Sequence[CellGroup]) -> Layout:
    """Where the moments stand, and what may have moved what follows: signs, second digits, tight slurs."""
    before = [max(cell.signs[0] for cell in moment.cells) for moment in moments]
    behind = [max(cell.signs[1] for cell in moment.cells) for moment in moments]
    tight = 0
    for number, (left, right) in enumerate(pairwise(moments)):
        gap = right.x - left.x
        slurred = any(cell.note.reached is not Reached.STRUCK for cell in right.cells)
        close = slurred and gap == 1 + behind[number] + before[number + 1]
        behind[number] += tight
        tight = tight + gap if close else 0
    xs = tuple(moment.x for moment in moments)
    return Layout(xs, tuple(before), tuple(behind[:-1]), segment.width)
