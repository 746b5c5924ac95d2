"""Saying how a note is fingered, reached, struck and shaded."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from tabterm.errors import ScoreError
from tabterm.score.operations.draft import change_event
from tabterm.score.operations.target import check_on_neck, here, note_here, sounding_here
from tabterm.score.place import Place, describe
from tabterm.score.query import event_before
from tabterm.score.seams import has_partner

if TYPE_CHECKING:
    from tabterm.score.kinds import Direction, Reached, Stroke
    from tabterm.score.model import Event, Note, Score
    from tabterm.score.source import Bend

T_contra = TypeVar("T_contra", contravariant=True)


class OnNote(Protocol[T_contra]):
    """An operation that gives one note another value of one field."""

    def __call__(self, score: Score, place: Place, course: int, value: T_contra, /) -> Score:
        """Raises ScoreError where the event at the place has no note on the course."""


class OnEvent(Protocol[T_contra]):
    """An operation that gives one event another value of one field."""

    def __call__(self, score: Score, place: Place, value: T_contra, /) -> Score:
        """Raises ScoreError where a rest cannot take the value."""


def _set_note(field: str, score: Score, place: Place, course: int, value: Any) -> Score:
    onset, event, note = note_here(score, place, course)
    return _with_note(score, onset, event, note.with_(**{field: value}))


def _with_note(score: Score, onset: Place, event: Event, note: Note) -> Score:
    notes = tuple(note if other.course == note.course else other for other in event.notes)
    return change_event(score, onset, event.with_(notes=notes))


def _set_event(field: str, score: Score, place: Place, value: Any) -> Score:
    onset, event = sounding_here(score, place, field)
    return change_event(score, onset, event.with_(**{field: value}))


set_finger: OnNote[int | None] = partial(_set_note, "finger")
set_course_held: OnNote[bool] = partial(_set_note, "course_set")
set_bend: OnNote[Bend | None] = partial(_set_note, "bend")
set_slide_in: OnNote[Direction | None] = partial(_set_note, "slide_in")
set_slide_out: OnNote[Direction | None] = partial(_set_note, "slide_out")
set_muted: OnNote[bool] = partial(_set_note, "muted")
set_ring: OnNote[bool] = partial(_set_note, "ring")
set_vibrato: OnNote[bool] = partial(_set_note, "vibrato")
set_stroke: OnEvent[Stroke | None] = partial(_set_event, "stroke")
set_accent: OnEvent[bool] = partial(_set_event, "accent")
set_staccato: OnEvent[bool] = partial(_set_event, "staccato")
set_damp: OnEvent[bool] = partial(_set_event, "damp")
set_tremolo: OnEvent[bool] = partial(_set_event, "tremolo")
set_roll: OnEvent[Direction | None] = partial(_set_event, "roll")


def set_reached(score: Score, place: Place, course: int, reached: Reached) -> Score:
    """Make a note struck, or slurred from the event before; a slurred note is not tied.

    Raises:
        ScoreError: No such note, or a slur has no note to start from.
    """
    onset, event, note = note_here(score, place, course)
    changed = note.with_(reached=reached, tied=False)
    if not has_partner(event_before(score, onset), event, changed):
        raise ScoreError(
            "no note to slur from",
            place=describe(score, onset),
            hint="write the note before it first",
        )
    return _with_note(score, onset, event, changed)


def add_grace(score: Score, place: Place, note: Note) -> Score:
    """Put a grace note before the event at a place, behind those that are there.

    Raises:
        ScoreError: The event is a rest, or the fret is beyond the neck.
    """
    onset, event = sounding_here(score, place, "grace note")
    check_on_neck(score, onset, (note,))
    return change_event(score, onset, event.with_(grace=(*event.grace, note)))


def clear_grace(score: Score, place: Place) -> Score:
    """Take the grace notes of the event at a place away."""
    onset, event = here(score, place)
    return change_event(score, onset, event.with_(grace=()))
