r"""Columns: how a measure is laid out in characters, and what stands in each cell.

The printed text tab and the editor share this layout. The signs of a note, in the order they are written:

    {4}5    a grace note before it ({2:4} on another course, counted from the highest; {4,h5} several)
    (5)     tied to the note before
    h5 p3   hammer-on, pull-off
    /7 \4   slide up, slide down, from the note before
    ^5 _5   slid into from below, from above, from no particular fret
    x x5    dead note (with the fret that the finger damps at)
    5b      bent by a quarter tone; 5b100c by so many cents; 5br bent and let back; 5r struck bent and let down
    5/ 5\   slid off, up or down
    5~ 5=   vibrato; let it ring
    5@      held to its course, whatever fingering is proposed
    5> 5'   accent; staccato
    5% 5[ 5]  tremolo; rolled upwards, downwards
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.harmony.spelling import pitch_words
from tabterm.score.comparison import Differs, differences_in, timed_source
from tabterm.score.kinds import BendShape, Direction, Reached, Stroke
from tabterm.score.place import Place, count_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tabterm.score.metre import Metre
    from tabterm.score.model import Bend, Event, Measure, Note, Score, SourceEvent

STROKE_LETTERS = {Stroke.DOWN: "D", Stroke.UP: "U", Stroke.NONE: "N"}
"""Set strokes; a proposed one is written small."""

DEFAULT_BEND_CENTS = 50

DIFFERS_SIGNS = {
    Differs.HIGHER: "↑",
    Differs.LOWER: "↓",
    Differs.CHANGED: "≠",
    Differs.DROPPED: "−",  # noqa: RUF001 - the sign of taking away
    Differs.ADDED: "+",
}
"""Behind a pitch of the original: how what is played departs from it."""


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
    """The columns of a measure, left to right, and their width together."""

    columns: tuple[Column, ...]
    width: int
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


_laid_out: dict[int, tuple[tuple[Measure, Metre, Fraction], MeasureColumns]] = {}


def lay_out(score: Score, index: int) -> MeasureColumns:
    """The columns of a measure; remembered for as long as the measure is the same."""
    measure, metre = score.measures[index], score.metres[index]
    missing = metre.length - measure.length if measure.short and index == 0 else Fraction(0)
    known = _laid_out.get(id(measure))
    if known is not None and known[0][0] is measure and known[0][1:] == (metre, missing):
        return known[1]
    if len(_laid_out) > 20_000:
        _laid_out.clear()
    columns = _columns(measure, metre, missing)
    _laid_out[id(measure)] = ((measure, metre, missing), columns)
    return columns


def _columns(measure: Measure, metre: Metre, missing: Fraction) -> MeasureColumns:
    unit = Fraction(4, metre.unit) if metre.unit >= 8 else Fraction(1, 2)
    start = -missing % unit
    grid = {start + unit * n for n in range(int((measure.length - start) / unit) + 1)}
    source = dict(timed_source(measure))
    moments = {Fraction(0), *grid, *measure.onsets, *(mark.offset for mark in measure.chords), *source}
    offsets = sorted(moment for moment in moments if moment < measure.length)
    ends = [*offsets[1:], measure.length]
    needs = {offset: _need(event) for offset, event in measure.timed()}
    needs |= {offset: max(_source_need(event), needs.get(offset, 0)) for offset, event in source.items()}
    if metre.count >= 10:
        needs |= {
            offset: max(2, needs.get(offset, 0)) for offset in offsets if _has_long_count(offset + missing, metre)
        }
    widths = [
        max(_least(end - offset), needs.get(offset, 0) + 1) for offset, end in zip(offsets, ends, strict=True)
    ]
    _make_room_for_chords(measure, offsets, widths)
    columns, x = [], 0
    for offset, width in zip(offsets, widths, strict=True):
        columns.append(Column(offset, x, width))
        x += width
    return MeasureColumns(tuple(columns), x)


def _least(length: Fraction) -> int:
    if length >= Fraction(1, 2):
        return 4
    return 3 if length >= Fraction(1, 8) else 2


def _need(event: Event) -> int:
    """Characters of the widest cell of an event; its fingers have room before they are known."""
    cells = [len(note_cell(None, event, note)) for note in event.notes]
    fingers = len(event.notes) if any(note.fret for note in event.notes) else 1
    return max([*cells, fingers, len(finger_cell(event))])


def _source_need(event: SourceEvent) -> int:
    """Characters of the pitches of a moment of the original, and of a sign behind them."""
    names = [3 if pitch % 12 in _BLACK else 2 for pitch in event.pitches]
    return sum(names) + len(names) + 2 * event.tied


def _has_long_count(at: Fraction, metre: Metre) -> bool:
    """Whether a moment is counted by a number of two figures."""
    units = at * metre.unit / 4
    return units >= 9 and units.denominator == 1


def _make_room_for_chords(measure: Measure, offsets: list[Fraction], widths: list[int]) -> None:
    """Widen the column of each chord symbol that would run into the next one, or over the bar line."""
    marks = measure.chords
    for number, mark in enumerate(marks):
        first = offsets.index(mark.offset)
        last = offsets.index(marks[number + 1].offset) if number + 1 < len(marks) else len(offsets)
        missing = len(mark.symbol) + 1 - sum(widths[first:last])
        widths[first] += max(missing, 0)


# Cells


def note_cell(before: Event | None, event: Event, note: Note) -> str:
    """A note as it is written on its course; see the signs above."""
    text = _grace_group(event, note) + _note_text(before, event, note)
    if note is event.notes[0]:
        text += ">" if event.accent else ""
        text += "'" if event.staccato else ""
        text += "%" if event.tremolo else ""
        text += {Direction.UP: "[", Direction.DOWN: "]", None: ""}[event.roll]
    return text


def _grace_group(event: Event, note: Note) -> str:
    if not event.grace or note is not event.notes[0]:
        return ""
    parts = [
        ("" if grace.course == note.course else f"{grace.course}:") + _note_text(None, event, grace)
        for grace in event.grace
    ]
    return "{" + ",".join(parts) + "}"


def _note_text(before: Event | None, event: Event, note: Note) -> str:
    fret = ("x" + (str(note.fret) if note.fret else "")) if note.muted else str(note.fret)
    if note.tied:
        fret = f"({fret})"
    text = _prefix(before, event, note) + fret
    text += _bend_text(note.bend)
    text += {Direction.UP: "/", Direction.DOWN: "\\", None: ""}[note.slide_out]
    return text + ("~" if note.vibrato else "") + ("=" if note.ring else "") + ("@" if note.course_set else "")


def _prefix(before: Event | None, event: Event, note: Note) -> str:
    into = {Direction.UP: "^", Direction.DOWN: "_", None: ""}[note.slide_in]
    if note.reached is Reached.HAMMER:
        return "h" + into
    if note.reached is Reached.PULL:
        return "p" + into
    if note.reached is Reached.SLIDE:
        graces = [grace for grace in event.grace if grace.course == note.course]
        source = graces[-1] if graces else (before.on_course(note.course) if before else None)
        return ("\\" if source is not None and source.fret > note.fret else "/") + into
    return into


def _bend_text(bend: Bend | None) -> str:
    if bend is None:
        return ""
    cents = "" if bend.cents == DEFAULT_BEND_CENTS else f"{bend.cents}c"
    if bend.shape is BendShape.FALL:
        return f"r{cents}"
    return f"b{cents}" + ("r" if bend.shape is BendShape.RISE_AND_FALL else "")


def finger_cell(event: Event) -> str:
    """Fingers of an event, highest course first; `.` for a note without one, "" when none has one."""
    fingers = [note.finger_shown for note in event.notes]
    if all(finger is None for finger in fingers):
        return ""
    return "".join("." if finger is None else str(finger) for finger in fingers)


def stroke_cell(event: Event) -> str:
    """The stroke of an event: a capital where the player has set it, small where it is proposed.

    A proposed tremolo has `%` behind it; a set one has it at its note.
    """
    tremolo = "%" if event.proposed_tremolo else ""
    if event.stroke is not None:
        return STROKE_LETTERS[event.stroke] + tremolo
    return (STROKE_LETTERS[event.proposed_stroke].lower() if event.proposed_stroke else "") + tremolo


def course_cells(score: Score, index: int) -> Mapping[tuple[Fraction, int], str]:
    """Text of every note of a measure by (offset, course)."""
    before = score.measures[index - 1].events[-1] if index else None
    cells: dict[tuple[Fraction, int], str] = {}
    for offset, event in score.measures[index].timed():
        for note in event.notes:
            cells[offset, note.course] = note_cell(before, event, note)
        before = event
    return cells


def cells(score: Score, index: int, row: str) -> Mapping[Fraction, str]:
    """Text of a row of a measure by offset; rows: chord, count, source, finger, stroke.

    Raises:
        ValueError: There is no such row.
    """
    measure = score.measures[index]
    if row == "chord":
        return {mark.offset: mark.symbol for mark in measure.chords}
    if row == "count":
        return _count_cells(score, index)
    if row == "source":
        return _source_cells(score, index)
    if row in {"finger", "stroke"}:
        text_of = finger_cell if row == "finger" else stroke_cell
        return {offset: text for offset, event in measure.timed() if (text := text_of(event))}
    raise ValueError(f"no row {row}")


def _count_cells(score: Score, index: int) -> dict[Fraction, str]:
    """The count as it is spoken: `1 & 2 &`, `1 e & a`; moments off it have no word."""
    texts: dict[Fraction, str] = {}
    for column in lay_out(score, index).columns:
        name = count_name(score, Place(index, column.offset))
        if "+" not in name:
            texts[column.offset] = name.lstrip("0123456789") or name
    return texts


def _source_cells(score: Score, index: int) -> dict[Fraction, str]:
    """The original line by its pitches, tied ones in parentheses, with signs of how it is departed from."""
    key, texts = score.keys[index], dict[Fraction, str]()
    for offset, event in timed_source(score.measures[index]):
        if event.pitches:
            names = "/".join(pitch_words(pitch, key) for pitch in event.pitches)
            texts[offset] = f"({names})" if event.tied else names
    for each in differences_in(score, index):
        sign, text = DIFFERS_SIGNS[each.kind], texts.get(each.place.offset, "")
        if sign not in text:
            texts[each.place.offset] = text + sign
    return texts
