"""Saying how a note is fingered, reached, struck and shaded."""

from __future__ import annotations

from functools import partial
from typing import Any, Protocol, TypeVar

from tabterm.errors import ScoreError
from tabterm.score.model import Bend, Direction, Event, Note, Reached, Score, Stroke, has_partner
from tabterm.score.operations.draft import change_event
from tabterm.score.operations.rhythm import here
from tabterm.score.place import Place, describe
from tabterm.score.query import event_before

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
    onset, event = here(score, place)
    note = event.on_course(course)
    if note is None:
        raise ScoreError(f"there is no note on course {course}", place=describe(score, onset))
    return _with_note(score, onset, event, note.with_(**{field: value}))


def _with_note(score: Score, onset: Place, event: Event, note: Note) -> Score:
    notes = tuple(note if other.course == note.course else other for other in event.notes)
    return _with_event(score, onset, event.with_(notes=notes))


def _with_event(score: Score, onset: Place, event: Event) -> Score:
    number = score.measures[onset.measure].onsets.index(onset.offset)
    return change_event(score, onset.measure, number, event)


def _set_event(field: str, score: Score, place: Place, value: Any) -> Score:
    onset, event = here(score, place)
    if event.is_rest:
        raise ScoreError(f"a rest takes no {field}", place=describe(score, onset), hint="go to a note")
    return _with_event(score, onset, event.with_(**{field: value}))


set_finger: OnNote[int | None] = partial(_set_note, "finger")
set_bend: OnNote[Bend | None] = partial(_set_note, "bend")
set_slide_in: OnNote[Direction | None] = partial(_set_note, "slide_in")
set_slide_out: OnNote[Direction | None] = partial(_set_note, "slide_out")
set_muted: OnNote[bool] = partial(_set_note, "muted")
set_ring: OnNote[bool] = partial(_set_note, "ring")
set_vibrato: OnNote[bool] = partial(_set_note, "vibrato")
set_stroke: OnEvent[Stroke | None] = partial(_set_event, "stroke")
set_accent: OnEvent[bool] = partial(_set_event, "accent")
set_staccato: OnEvent[bool] = partial(_set_event, "staccato")
set_tremolo: OnEvent[bool] = partial(_set_event, "tremolo")
set_roll: OnEvent[Direction | None] = partial(_set_event, "roll")


def set_reached(score: Score, place: Place, course: int, reached: Reached) -> Score:
    """Make a note struck, or slurred from the event before; a slurred note is not tied.

    Raises:
        ScoreError: There is no such note, or a slur has nothing to come from.
    """
    onset, event = here(score, place)
    note = event.on_course(course)
    if note is None:
        raise ScoreError(f"there is no note on course {course}", place=describe(score, onset))
    changed = note.with_(reached=reached, tied=False)
    if not has_partner(event_before(score, onset), event, changed):
        raise ScoreError("there is nothing to slur from", place=describe(score, onset))
    return _with_note(score, onset, event, changed)


def add_grace(score: Score, place: Place, note: Note) -> Score:
    """Put a grace note before the event at a place, behind those that are there."""
    onset, event = here(score, place)
    if event.is_rest:
        raise ScoreError("a rest takes no grace note", place=describe(score, onset), hint="go to a note")
    return _with_event(score, onset, event.with_(grace=(*event.grace, note)))


def clear_grace(score: Score, place: Place) -> Score:
    """Take the grace notes of the event at a place away."""
    onset, event = here(score, place)
    return _with_event(score, onset, event.with_(grace=()))
