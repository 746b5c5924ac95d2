"""What an operation is aimed at: the event at a place, and notes that the instrument has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.place import Place, describe
from tabterm.score.query import event_at

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.model import Event, Note, Score


def here(score: Score, place: Place) -> tuple[Place, Event]:
    """The event at a place, with its onset; raises ScoreError past the end."""
    found = event_at(score, place)
    if found is None:
        raise ScoreError("this is after the last measure", hint="go back to the music")
    return found


def note_here(score: Score, place: Place, course: int) -> tuple[Place, Event, Note]:
    """The onset, the event and its note on a course; raises ScoreError when there is none."""
    onset, event = here(score, place)
    note = event.on_course(course)
    if note is None:
        raise ScoreError(f"no note on course {course}", place=describe(score, onset), hint="go to a note")
    return onset, event, note


def sounding_here(score: Score, place: Place, what: str) -> tuple[Place, Event]:
    """The event at a place, with its onset; raises ScoreError when it is a rest, which takes no `what`."""
    onset, event = here(score, place)
    if event.is_rest:
        raise ScoreError(f"a rest takes no {what}", place=describe(score, onset), hint="go to a note")
    return onset, event


def check_on_neck(score: Score, place: Place, notes: Iterable[Note]) -> None:
    """Raise ScoreError for a fret or a course that the instrument does not have."""
    instrument = score.head.instrument
    for note in notes:
        if note.course > instrument.course_count:
            raise ScoreError(
                f"this {instrument.name} has no course {note.course}",
                place=describe(score, place),
                hint=f"courses are 1 to {instrument.course_count}",
            )
        if note.fret > instrument.frets:
            raise ScoreError(
                f"fret {note.fret} is beyond the neck: this {instrument.name} has {instrument.frets} frets",
                place=describe(score, place),
                hint="use a higher course",
            )
