"""Ways round a finding, each an operation on the score."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.finding import Remedy
from tabterm.score.kinds import Reached
from tabterm.score.operations import (
    move_course,
    set_bend,
    set_finger,
    set_reached,
    set_ring,
    set_stroke,
)
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of, next_event

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.model import Event, Head, Note, Score


def strike(note: Note) -> Remedy:
    """Pick the note instead of slurring it."""
    course = note.course
    return Remedy(
        "pick it instead of slurring",
        lambda score, place: set_reached(score, place, course, Reached.STRUCK),
    )


def reach_by(note: Note, reached: Reached, label: str) -> Remedy:
    """Slur the note in another way."""
    course = note.course
    return Remedy(label, lambda score, place: set_reached(score, place, course, reached))


def unbend(note: Note) -> Remedy:
    """Leave the bend out."""
    course = note.course
    return Remedy("leave the bend out", lambda score, place: set_bend(score, place, course, None))


def free_finger(note: Note) -> Remedy:
    """Give the choice of the finger up."""
    course, finger = note.course, note.finger
    return Remedy(f"give finger {finger} up", lambda score, place: set_finger(score, place, course, None))


def let_not_ring(note: Note, at: Place) -> Remedy:
    """Do not let the note at another place ring."""
    course = note.course
    return Remedy("do not let it ring", lambda score, _place: set_ring(score, at, course, not note.ring))


def free_stroke(label: str = "give the stroke up") -> Remedy:
    """Give the set stroke up."""
    return Remedy(label, lambda score, place: set_stroke(score, place, None))


def other_courses(head: Head, event: Event, note: Note) -> Iterator[Remedy]:
    """The same pitch on each other course that is free; nearest first."""
    taken = {other.course for other in event.notes}
    places = head.instrument.places_of(head.instrument.pitch(note.course, note.fret))
    letters = head.instrument.course_letters()
    for course, fret in sorted(places, key=lambda at: abs(at[0] - note.course)):
        if course not in taken:
            yield _to_course(note.course, course - note.course, f"course {letters[course - 1]}, fret {fret}")


def _to_course(course: int, step: int, label: str) -> Remedy:
    def operation(score: Score, place: Place) -> Score:
        following = next_event(score, place)
        end = following[0] if following else end_of(score)
        return move_course(score, Span(place, end), step, course)

    return Remedy(label, operation)
