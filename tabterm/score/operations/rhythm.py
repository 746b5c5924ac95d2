"""Changing the rhythm of what is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import Event, Reached, Score
from tabterm.score.operations.draft import change_event
from tabterm.score.operations.timeline import flatten, splice
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import event_at, move_by, next_event, previous_event

if TYPE_CHECKING:
    from tabterm.score.duration import Duration, Tuplet


def here(score: Score, place: Place) -> tuple[Place, Event]:
    """The event at a place, with its onset; raises ScoreError past the end."""
    found = event_at(score, place)
    if found is None:
        raise ScoreError("there is nothing after the last measure", hint="go back onto the music")
    return found


def set_duration(score: Score, place: Place, duration: Duration) -> Score:
    """Give the event at a place another duration; time it leaves is silent, time it takes is overwritten."""
    onset, event = here(score, place)
    if event.duration == duration:
        return score
    changed = event.with_(duration=duration)
    left = event.length - duration.length
    silence = [(None, left)] if left > 0 else []
    return splice(score, onset, [(changed, duration.length), *silence])


def set_dots(score: Score, place: Place, dots: int) -> Score:
    """Give the event at a place 0, 1 or 2 dots."""
    _, event = here(score, place)
    return set_duration(score, place, event.duration.with_dots(dots))


def make_tuplet(score: Score, place: Place, tuplet: Tuplet | None) -> Score:
    """Make the event at a place the first of a tuplet of its note value.

    The tuplet fills the time of `tuplet.normal` such values; the notes that begin in that time are its
    members, in order, and silence the rest. With None the event is written without its tuplet.

    Raises:
        ScoreError: The tuplet would run over the end of the measure.
    """
    onset, event = here(score, place)
    if tuplet is None:
        return set_duration(score, place, event.duration.in_tuplet(None))
    plain = event.duration.in_tuplet(None)
    member = event.duration.in_tuplet(tuplet)
    window = plain.length * tuplet.normal
    if onset.offset + window > score.measures[onset.measure].length:
        raise ScoreError(
            f"a tuplet of {tuplet} would run over the end of the measure",
            place=describe(score, onset),
            hint="shorten the note first",
        )
    end = move_by(score, onset, window)
    inside = [piece for piece, _ in flatten(score, Span(onset, end)) if piece is not None and piece.notes]
    members = [note.with_(duration=member) for note in inside[: tuplet.actual]]
    members += [Event(duration=member)] * (tuplet.actual - len(members))
    return splice(score, onset, [(note, member.length) for note in members])


def toggle_tie(score: Score, place: Place) -> Score:
    """Tie the event at a place to the event before it, where they share notes; or untie it.

    Raises:
        ScoreError: It is a rest, or shares no note with the event before.
    """
    onset, event = here(score, place)
    number = score.measures[onset.measure].onsets.index(onset.offset)
    if any(note.tied for note in event.notes):
        notes = tuple(note.with_(tied=False) for note in event.notes)
        return change_event(score, onset.measure, number, event.with_(notes=notes))
    before = previous_event(score, onset)
    earlier = {(note.course, note.fret) for note in before[1].notes} if before else set()
    if not any((note.course, note.fret) in earlier for note in event.notes):
        raise ScoreError(
            "there is no equal note right before this to tie to",
            place=describe(score, onset),
            hint="a tie joins two notes of one course and fret",
        )
    notes = tuple(
        note.with_(tied=True, reached=Reached.STRUCK) if (note.course, note.fret) in earlier else note
        for note in event.notes
    )
    return change_event(score, onset.measure, number, event.with_(notes=notes, stroke=None, grace=()))


def split(score: Score, place: Place) -> Score:
    """Strike the event at a place a second time: at the place itself or, on its onset, half-way."""
    onset, event = here(score, place)
    first = place.offset - onset.offset if place != onset else event.length / 2
    again = event.with_(
        notes=tuple(note.with_(tied=False, reached=Reached.STRUCK) for note in event.notes),
        grace=(),
        stroke=None,
    )
    return splice(score, onset, [(event, first), (again, event.length - first)])


def join(score: Score, place: Place) -> Score:
    """Let the event at a place take over the time of the next one.

    Raises:
        ScoreError: Nothing follows.
    """
    onset, event = here(score, place)
    following = next_event(score, onset)
    if following is None:
        raise ScoreError("nothing follows to join with", place=describe(score, onset))
    return splice(score, onset, [(event, event.length + following[1].length)])
