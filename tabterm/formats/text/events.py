"""Putting the notes and rows of a measure together into events."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from tabterm.errors import TabtermError
from tabterm.formats import Remark
from tabterm.formats.text.measures import STROKES, count_points
from tabterm.formats.text.rhythm import onsets_from_count, onsets_from_spacing
from tabterm.score.model import Barline, ChordMark, Event, Reached, Stroke
from tabterm.score.operations.spelling import spell

if TYPE_CHECKING:
    from tabterm.formats.text.cells import Cell
    from tabterm.formats.text.measures import Segment
    from tabterm.score.duration import Duration
    from tabterm.score.metre import Metre
    from tabterm.score.model import Head, Note

NEAR = 2
"""Characters by which a note may lie beside the duration, finger or stroke that belongs to it."""


@dataclass(slots=True)
class Moment:
    """The notes that begin at one character of a segment, and what the rows say about them."""

    x: int
    cells: list[Cell]
    duration: Duration | None = None


class Assembly:
    """What is carried from measure to measure while a text is put together."""

    def __init__(self, head: Head, remarks: list[Remark]) -> None:
        self.head = head
        self.metre: Metre = head.metre
        self.remarks = remarks
        self.pickup: Fraction | None = None


def assemble(
    assembly: Assembly, segments: list[Segment], fields: dict[str, Any], *, first: bool
) -> tuple[list[Event], dict[str, Any]]:
    """The events of a measure and its other fields; `fields` are those of its line of marks."""
    whole = assembly.metre.length
    events: list[Event] = []
    placed: list[tuple[Segment, int, Fraction]] = []
    at = Fraction(0)
    has_rhythm = any(segment.rhythm for segment in segments)
    for segment in segments:
        if has_rhythm:
            timed = _with_rhythm(segment)
        else:
            length = assembly.pickup if first and assembly.pickup else whole
            timed = _from_spacing(assembly, segment, length)
        for x, event in timed:
            placed.append((segment, x, at))
            events.append(event)
            at += event.length
    short = bool(fields.get("short"))
    if not short and first and 0 < at < whole:
        fields["short"] = short = True
    if at < whole and not short:
        _remark(assembly, segments, f"{whole - at} quarters are missing and are written as rests")
        events += [Event(duration=duration) for duration in spell(at, whole - at, assembly.metre)]
    elif at > whole:
        _remark(assembly, segments, f"{at - whole} quarters too many are left out")
        events = _cut(events, whole, assembly.metre)
    last = segments[-1]
    fields |= {"chords": _chords(segments, placed), "barline": last.barline or Barline.SINGLE}
    fields["repeat_start"] = segments[0].repeat_start
    fields["repeat_times"] = fields.get("repeat_times", 2) if last.repeat_end else 0
    return events, fields


def _remark(assembly: Assembly, segments: list[Segment], text: str) -> None:
    assembly.remarks.append(Remark(segments[0].line, segments[0].start + 1, text))


def _cut(events: list[Event], whole: Fraction, metre: Metre) -> list[Event]:
    """The events up to a length; the one that crosses it is shortened."""
    kept: list[Event] = []
    at = Fraction(0)
    for event in events:
        if at + event.length <= whole:
            kept.append(event)
        elif at < whole:
            first, *others = spell(at, whole - at, metre)
            kept += [event.with_(duration=first), *(Event(duration=duration) for duration in others)]
        at += event.length
    return kept


def _with_rhythm(segment: Segment) -> list[tuple[int, Event]]:
    """Events under the words of the rhythm row; a note belongs to the nearest of them."""
    moments = [Moment(x, [], duration) for x, duration in segment.rhythm]
    for cell in segment.cells if moments else ():
        nearest = min(moments, key=lambda moment: (abs(moment.x - cell.x), abs(moment.x - cell.fret_x)))
        nearest.cells.append(cell)
    return [(moment.x, _event(segment, moment, moment.duration)) for moment in moments if moment.duration]


def _from_spacing(assembly: Assembly, segment: Segment, length: Fraction) -> list[tuple[int, Event]]:
    """Events whose rhythm is proposed from where the notes stand, or from the count row."""
    moments: list[Moment] = []
    for cell in sorted(segment.cells, key=lambda each: each.fret_x):
        if moments and cell.fret_x - moments[-1].x <= 1:
            moments[-1].cells.append(cell)
        else:
            moments.append(Moment(cell.fret_x, [cell]))
    if not moments:
        return [(0, Event(duration=duration)) for duration in spell(Fraction(0), length, assembly.metre)]
    xs = [moment.x for moment in moments]
    compound = assembly.metre.compound or assembly.metre.unit >= 8
    unit = Fraction(4, assembly.metre.unit) if compound else Fraction(1)
    counted = count_points(segment, unit)
    if counted:
        offsets = onsets_from_count(xs, counted, segment.width, length)
    else:
        offsets = onsets_from_spacing(xs, segment.width, length)
    missing = assembly.metre.length - length
    timed: list[tuple[int, Event]] = []
    if offsets[0] > 0:
        timed += [(0, Event(duration=d)) for d in spell(missing, offsets[0], assembly.metre)]
    for moment, offset, end in zip(moments, offsets, [*offsets[1:], length], strict=True):
        for number, duration in enumerate(spell(missing + offset, end - offset, assembly.metre)):
            event = _event(segment, moment, duration)
            timed.append((moment.x, event if number == 0 else _tied(event)))
    return timed


def _tied(event: Event) -> Event:
    notes = [note for note in event.notes if not note.muted]
    return Event(
        duration=event.duration,
        notes=tuple(note.with_(tied=True, reached=Reached.STRUCK, bend=None) for note in notes),
    )


def _event(segment: Segment, moment: Moment, duration: Duration) -> Event:
    """The event of a moment, with the fingers and strokes that stand under it."""
    by_course: dict[int, Cell] = {}
    for cell in moment.cells:
        by_course.setdefault(cell.note.course, cell)
    cells = [by_course[course] for course in sorted(by_course)]
    marks: dict[str, Any] = {}
    for cell in cells:
        marks |= cell.marks
    notes = _fingered([cell.note for cell in cells], _near(segment, "finger", moment.x))
    if not notes:
        return Event(duration=duration)
    try:
        return Event(duration=duration, notes=notes, **marks, **_stroke(_near(segment, "stroke", moment.x)))
    except (TabtermError, ValidationError):
        return Event(duration=duration, notes=notes)


def _fingered(notes: list[Note], text: str) -> tuple[Note, ...]:
    fingers = [int(sign) if sign in "01234" else None for sign in text]
    fingers += [None] * (len(notes) - len(fingers))
    return tuple(
        note.with_(finger=finger) if finger is not None else note
        for note, finger in zip(notes, fingers, strict=False)
    )


def _stroke(text: str) -> dict[str, Stroke]:
    """A capital is the player's; a small letter is a proposal."""
    if text == "N":
        return {"stroke": Stroke.NONE}
    stroke = STROKES.get(text.lower())
    if stroke is None:
        return {}
    return {"stroke": stroke} if text.isupper() else {"proposed_stroke": stroke}


def _near(segment: Segment, row: str, x: int) -> str:
    words = [(abs(at - x), text) for at, text in segment.rows.get(row, []) if abs(at - x) <= NEAR]
    return min(words, default=(0, ""))[1]


def _chords(segments: list[Segment], placed: list[tuple[Segment, int, Fraction]]) -> tuple[ChordMark, ...]:
    """Chord symbols over the event nearest to them, or at the offset they say (`G@3/2`)."""
    marks: dict[Fraction, ChordMark] = {}
    for segment in segments:
        events = [(x, offset) for owner, x, offset in placed if owner is segment]
        for at, word in segment.rows.get("chord", []):
            symbol, said, offset_text = word.partition("@")
            try:
                offset = Fraction(offset_text) if said else min(events, key=lambda each: abs(each[0] - at))[1]
                marks.setdefault(offset, ChordMark(offset=offset, symbol=symbol))
            except (ValueError, ZeroDivisionError, ValidationError):
                continue
    return tuple(mark for _, mark in sorted(marks.items()))
