"""Putting the notes and rows of a measure together into events."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tabterm.formats.text.moments import Moment, moments_of
from tabterm.formats.text.rows import chord_mark, fields_of_rows, tell_unused
from tabterm.score.kinds import Barline, Reached
from tabterm.score.model import ChordMark, Event
from tabterm.score.operations.spelling import spell

if TYPE_CHECKING:
    from tabterm.formats.text.guesses import Guesses
    from tabterm.formats.text.measures import Segment
    from tabterm.score.duration import Duration
    from tabterm.score.metre import Metre
    from tabterm.score.report import Reporter

REACH = 3
"""Characters by which a note may lie beside its duration in a row of durations."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An event with its place on the page and in the measure."""

    segment: Segment
    x: int
    offset: Fraction
    event: Event


@dataclass(slots=True)
class Assembly:
    """What is carried from measure to measure while a text is put together."""

    metre: Metre
    report: Reporter
    guesses: Guesses


def assemble(
    assembly: Assembly, segments: list[Segment], fields: dict[str, Any], *, first: bool
) -> dict[str, Any]:
    """The fields of a measure from its segments; `fields` are those of its line of marks."""
    whole = assembly.metre.length
    pickup = assembly.guesses.pickup
    length = pickup if first and pickup else whole
    placed: list[Placed] = []
    at = Fraction(0)
    for segment in segments:
        for x, event in _timed(assembly, segment, length):
            placed.append(Placed(segment, x, at, event))
            at += event.length
        with_notes = [each.x for each in placed if each.segment is segment and each.event.notes]
        tell_unused(segment, with_notes, assembly.report)
    fields["short"] = 0 < at < whole and (first or bool(fields.get("short")))
    last = segments[-1]
    return fields | {
        "events": _filled(assembly, segments[0], [each.event for each in placed], at, short=fields["short"]),
        "chords": _chords(assembly, placed, segments, min(at, whole)),
        "barline": last.barline or Barline.SINGLE,
        "repeat_start": segments[0].repeat_start,
        "repeat_times": fields.get("repeat_times", 2) if last.repeat_end else 0,
    }


def _filled(
    assembly: Assembly, segment: Segment, events: list[Event], at: Fraction, *, short: bool
) -> list[Event]:
    """The events, with rests for what is missing and without what is too much; `at` is their length."""
    whole = assembly.metre.length
    if at < whole and not short:
        assembly.report.changed(f"{whole - at} quarters are missing and are written as rests", *segment.at())
        events = events + [Event(duration=duration) for duration in spell(at, whole - at, assembly.metre)]
    elif at > whole:
        assembly.report.left_out(f"{at - whole} quarters too many are left out", *segment.at())
        events = _cut(events, whole, assembly.metre)
    return events


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


def _timed(assembly: Assembly, segment: Segment, length: Fraction) -> list[tuple[int, Event]]:
    """The events of a segment by their characters: under its durations, or as its spacing proposes."""
    if not segment.has_rhythm:
        return _proposed(assembly, segment, length)
    moments = [Moment(x, [], duration) for x, duration in segment.rhythm]
    fits = bool(moments) or not segment.cells
    for cell in segment.cells if moments else ():
        nearest = min(moments, key=lambda moment: (abs(moment.x - cell.x), abs(moment.x - cell.fret_x)))
        distance = min(abs(nearest.x - cell.x), abs(nearest.x - cell.fret_x))
        fits &= distance <= REACH and all(other.note.course != cell.note.course for other in nearest.cells)
        nearest.cells.append(cell)
    if not fits:
        text = "the durations do not fit the notes: the rhythm is proposed from the spacing"
        assembly.report.changed(text, *segment.at(row="rhythm"))
        return _proposed(assembly, segment, length)
    return [
        (moment.x, _event(segment, moment, moment.duration)) for moment in moments if moment.duration is not None
    ]


def _proposed(assembly: Assembly, segment: Segment, length: Fraction) -> list[tuple[int, Event]]:
    """Events whose rhythm is proposed from the count row, or from where the notes stand."""
    moments = moments_of(segment)
    if not moments:
        return [(0, Event(duration=duration)) for duration in spell(Fraction(0), length, assembly.metre)]
    offsets = assembly.guesses.offsets(segment, assembly.metre, length)
    missing = assembly.metre.length - length
    timed: list[tuple[int, Event]] = []
    if offsets[0] > 0:
        timed += [(0, Event(duration=duration)) for duration in spell(missing, offsets[0], assembly.metre)]
    for moment, offset, end in zip(moments, offsets, [*offsets[1:], length], strict=True):
        first, *others = spell(missing + offset, end - offset, assembly.metre)
        event = _event(segment, moment, first)
        timed += [(moment.x, event), *((moment.x, _tied(event, duration)) for duration in others)]
    return timed


def _tied(event: Event, duration: Duration) -> Event:
    """A further value of an event that one value cannot write."""
    notes = [note for note in event.notes if not note.muted]
    return Event(
        duration=duration,
        notes=tuple(note.with_(tied=True, reached=Reached.STRUCK, bend=None) for note in notes),
    )


def _event(segment: Segment, moment: Moment, duration: Duration) -> Event:
    """The event of a moment, with the fingers and strokes that stand under it."""
    if not moment.cells:
        return Event(duration=duration)
    cells = sorted(moment.cells, key=lambda cell: cell.note.course)
    marks: dict[str, Any] = {}
    for cell in cells:
        marks |= cell.marks
    said = fields_of_rows(segment, moment.x, [cell.note for cell in cells], marks.pop("grace", ()))
    return Event(duration=duration, **marks, **said)


def _chords(
    assembly: Assembly, placed: list[Placed], segments: list[Segment], length: Fraction
) -> tuple[ChordMark, ...]:
    """Chord symbols over the event nearest to them, or at the offset they say (`G@3/2`)."""
    marks: dict[Fraction, ChordMark] = {}
    for segment in segments:
        onsets = [(each.x, each.offset) for each in placed if each.segment is segment]
        for x, word in segment.rows.get("chord", []):
            mark = chord_mark(word, x, onsets)
            if mark is None or mark.offset in marks or mark.offset >= length:
                text = f"the chord '{word:.40}' has no place of its own and is left out"
                assembly.report.left_out(text, *segment.at(x, "chord"))
            else:
                marks[mark.offset] = mark
    return tuple(mark for _, mark in sorted(marks.items()))
