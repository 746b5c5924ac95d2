"""Putting the notes of a measure, and the fingers, strokes and chord symbols beside them, together into events.

A finger is written `2` where the player has set it, `2?` where it is proposed and `.` where there is none;
an event's fingers stand together, highest course first, those of its grace notes before them: `{1}2.`. A
stroke is `D`, `U` or `N` (none) where the player has set it, `d` or `u` where it is proposed.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass
from tabterm.formats.text.cells import CellGroup, moments_of
from tabterm.judge import UnfitError
from tabterm.page.rows import FINGER_WORD, PRINTED
from tabterm.score.kinds import Barline, Reached, Stroke
from tabterm.score.model import ChordMark, Event
from tabterm.score.operations.spelling import spell
from tabterm.values import read_value

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.formats.text.guesses import Guesses
    from tabterm.formats.text.measures import Segment
    from tabterm.score.duration import Duration
    from tabterm.score.metre import Metre
    from tabterm.score.model import Note
    from tabterm.score.report import Reporter


STROKES = {"d": Stroke.DOWN, "n": Stroke.DOWN, "⊓": Stroke.DOWN, "u": Stroke.UP, "v": Stroke.UP}
"""Strokes by letter, as players write them; our own `N` is set to none."""

NEAR = 2
"""Characters by which a finger or stroke may stand beside its note."""

_FINGER = re.compile(r"[.0-4]\??")


def fields_of_rows(segment: Segment, x: int, notes: Sequence[Note], grace: Sequence[Note]) -> dict[str, Any]:
    """The notes, grace notes and stroke of an event, with what stands under character `x`."""
    match = FINGER_WORD.match(_near(segment, "finger", x))
    if match is not None:
        grace, notes = _fingered(grace, match.group(1) or ""), _fingered(notes, match.group(2))
    return {"notes": tuple(notes), "grace": tuple(grace), **_stroke(_near(segment, "stroke", x))}


def _fingered(notes: Sequence[Note], text: str) -> list[Note]:
    signs = _FINGER.findall(text)
    signs += ["."] * (len(notes) - len(signs))
    return [_with_finger(note, sign) for note, sign in zip(notes, signs, strict=False)]


def _with_finger(note: Note, sign: str) -> Note:
    if sign.startswith("."):
        return note
    name = "proposed_finger" if sign.endswith("?") else "finger"
    return note.with_(**{name: int(sign[0])})


def _stroke(text: str) -> dict[str, Stroke | bool]:
    """The stroke of a word, and `proposed_tremolo` where `%` stands behind it."""
    letter = text.removesuffix("%")
    fields: dict[str, Stroke | bool] = {"proposed_tremolo": True} if text.endswith("%") else {}
    if letter == "N":
        return fields | {"stroke": Stroke.NONE}
    stroke = STROKES.get(letter.lower())
    if stroke is None:
        return fields
    return fields | {"proposed_stroke" if letter in {"d", "u"} else "stroke": stroke}


def _near(segment: Segment, row: str, x: int) -> str:
    words = [(abs(at - x), text) for at, text in segment.rows.get(row, []) if abs(at - x) <= NEAR]
    return min(words, default=(0, ""))[1]


def tell_unused(segment: Segment, xs: Sequence[int], report: Reporter) -> None:
    """Tell of fingers and strokes that cannot be read, or stand under no note; notes are at `xs`."""
    for row in PRINTED:
        for x, word in segment.rows.get(row.name, []) if row.word is not None else ():
            if row.word is not None and not row.word.match(word):
                report.left_out(f"not a {row.name}: '{word:.40}'", *segment.at(x, row.name))
            elif all(abs(x - other) > NEAR for other in xs):
                report.left_out(f"the {row.name} '{word:.40}' is under no note", *segment.at(x, row.name))


def chord_mark(word: str, x: int, onsets: Iterable[tuple[int, Fraction]]) -> ChordMark | None:
    """The chord symbol of a word at character `x`: at the onset nearest to it, or at the offset it says.

    `onsets` are (character, offset) of the events; None where there is none, or the symbol is none.
    """
    symbol, said, offset = word.rpartition("@")
    try:
        if said:
            return read_value(ChordMark, {"offset": offset, "symbol": symbol})
    except UnfitError:
        pass  # the sign belongs to the symbol
    nearest = min(((abs(at - x), offset) for at, offset in onsets), default=None)
    try:
        return None if nearest is None else ChordMark(offset=nearest[1], symbol=word)
    except UnfitError:
        return None


REACH = 3
"""Characters by which a note may lie beside its duration in a row of durations."""


@dataclass(frozen=True, slots=True)
class PlacedEvent:
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
    placed: list[PlacedEvent] = []
    at = Fraction(0)
    for segment in segments:
        for x, event in _timed(assembly, segment, length):
            placed.append(PlacedEvent(segment, x, at, event))
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
        assembly.report.changed(f"{whole - at} quarters are missing and filled with rests", *segment.at())
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
    moments = [CellGroup(value.x, [], value.duration, value.rest) for value in segment.rhythm]
    struck = [moment for moment in moments if not moment.rest]
    fits = bool(struck) or not segment.cells
    for cell in segment.cells if struck else ():
        nearest = min(struck, key=lambda moment: (abs(moment.x - cell.x), abs(moment.x - cell.fret_x)))
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


def _event(segment: Segment, moment: CellGroup, duration: Duration) -> Event:
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
    assembly: Assembly, placed: list[PlacedEvent], segments: list[Segment], length: Fraction
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
