r"""Signs: how a note, its slurs and its marks are written on a course, in the order they stand.

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
5> 5' 5;  accent; staccato; all damped at its end
5% 5[ 5]  tremolo; rolled upwards, downwards
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.duration import TUPLETS, tuplet_groups
from tabterm.score.kinds import BendShape, Direction, Reached, Stroke

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from fractions import Fraction

    from tabterm.score.model import Event, Note, Score
    from tabterm.score.source import Bend

STROKE_LETTERS = {Stroke.DOWN: "D", Stroke.UP: "U", Stroke.NONE: "N"}
"""Set strokes; a proposed one is written small."""

BRACKET = "["
"""Begins a tuplet on the rhythm row; it stands one character left of the note, which its value stands over."""

DEFAULT_BEND_CENTS = 50


def note_cell(before: Event | None, event: Event, note: Note) -> str:
    """A note as it is written on its course; see the signs above."""
    text = _grace_group(event, note) + _note_text(before, event, note)
    if note is event.notes[0]:
        text += ">" if event.accent else ""
        text += "'" if event.staccato else ""
        text += ";" if event.damp else ""
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


def rhythm_signs(events: Sequence[Event]) -> list[str]:
    """The value of each event of a measure: `8`, `4.`; `-4` rests, `(8)` is tied, `[8 8 8]3` is a tuplet.

    The number behind the bracket is how many come in the usual time (3:2, 5:4, 6:4, 7:4); others stand in full.
    """
    signs = list(map(_value_sign, events))
    for first, last in tuplet_groups([event.duration for event in events]):
        ratio = events[first].duration.tuplet
        signs[first] = BRACKET + signs[first]
        signs[last] += f"]{ratio.actual if ratio in TUPLETS else ratio}" if ratio is not None else ""
    return signs


def _value_sign(event: Event) -> str:
    value = str(event.duration.in_tuplet(None))
    if event.is_rest:
        return "-" + value
    return f"({value})" if all(note.tied for note in event.notes) else value


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


def fingers_kept(event: Event) -> str:
    """Fingers as a file keeps them: of the grace notes, then the event's own, `2?` where proposed; `{1}2.`."""
    grace, own = (_finger_signs(notes) for notes in (event.grace, event.notes))
    return (f"{{{grace}}}" if grace else "") + own


def _finger_signs(notes: Sequence[Note]) -> str:
    if all(note.finger_shown is None for note in notes):
        return ""
    return "".join(map(_finger_sign, notes))


def _finger_sign(note: Note) -> str:
    if note.finger is not None:
        return str(note.finger)
    return "." if note.proposed_finger is None else f"{note.proposed_finger}?"
