"""Changing the rhythm of what is written."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.kinds import Reached
from tabterm.score.model import Event, Score
from tabterm.score.operations.draft import change_event, struck
from tabterm.score.operations.spelling import plain_value
from tabterm.score.operations.target import here, sounding_here
from tabterm.score.operations.timeline import divided, flatten, splice
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import event_before, events_in, move_by, next_event, pieces_of, whole_length
from tabterm.score.seams import has_partner

if TYPE_CHECKING:
    from tabterm.score.duration import Duration, Tuplet

_SHORTEST_SPLIT = Fraction(1, 8)
"""A 32nd: its halves are 64ths, the shortest notes there are."""


def value_of(score: Score, place: Place) -> Duration:
    """The note value of the event at a place, with all that is tied to it.

    Raises:
        ScoreError: It has none, since it lasts as long as several tied values.
    """
    onset, event = here(score, place)
    length = whole_length(score, onset)
    value = event.duration if length == event.length else plain_value(length)
    if value is None:
        place_named = describe(score, onset)
        raise ScoreError("several tied values cannot be dotted", place=place_named, hint="set its length")
    return value


def set_duration(score: Score, place: Place, duration: Duration) -> Score:
    """Give the event at a place, with all that is tied to it, another duration.

    Time it leaves is silent. Time it takes is overwritten up to the bar line, and beyond that where rests stand.

    Raises:
        ScoreError: It would run over the bar line into other notes.
    """
    onset, event = here(score, place)
    pieces = pieces_of(score, onset)
    if len(pieces) == 1 and event.duration == duration:
        return score
    bar_line = Place(pieces[-1][0].measure + 1)
    for at, other in events_in(score, Span(bar_line, move_by(score, onset, duration.length))):
        if not other.is_rest:
            raise ScoreError(
                f"{duration} would run over the bar line into the notes there",
                place=describe(score, at),
                hint="hold the note to overwrite them",
            )
    left = max(whole_length(score, onset) - duration.length, Fraction(0))
    return splice(score, onset, [(event.with_(duration=duration), duration.length), (None, left)])


def set_dots(score: Score, place: Place, dots: int) -> Score:
    """Give the event at a place 0, 1 or 2 dots."""
    return set_duration(score, place, value_of(score, place).with_dots(dots))


def make_tuplet(score: Score, place: Place, tuplet: Tuplet | None) -> Score:
    """Make the event at a place the first of a tuplet of its note value.

    The tuplet fills the time of `tuplet.normal` such values; the notes that begin in that time are its
    members, in order, and rests fill it up. With None the event is written without its tuplet.

    Raises:
        ScoreError: The tuplet would run over the end of the measure.
    """
    onset, event = here(score, place)
    if tuplet is None:
        return set_duration(score, place, event.duration.in_tuplet(None))
    window = event.duration.in_tuplet(None).length * tuplet.normal
    member = event.duration.in_tuplet(tuplet)
    if onset.offset + window > score.measures[onset.measure].length:
        raise ScoreError(
            f"a tuplet of {tuplet} would run over the end of the measure",
            place=describe(score, onset),
            hint="shorten the note first",
        )
    inside = flatten(score, Span(onset, move_by(score, onset, window)))
    members = [filling.with_(duration=member) for filling, _ in inside if filling is not None][: tuplet.actual]
    if event.is_rest:
        members.insert(0, event)
    members += [Event(duration=member)] * tuplet.actual
    return splice(
        score, onset, [(each.with_(duration=member), member.length) for each in members[: tuplet.actual]]
    )


def toggle_tie(score: Score, place: Place) -> Score:
    """Tie the event at a place to the event before it, where they share notes; or untie it.

    Raises:
        ScoreError: It is a rest, or shares no note with the event before.
    """
    onset, event = sounding_here(score, place, "tie")
    if any(note.tied for note in event.notes):
        notes = tuple(note.with_(tied=False) for note in event.notes)
        return change_event(score, onset, event.with_(notes=notes))
    before = event_before(score, onset)
    ties = [note.with_(tied=True, reached=Reached.STRUCK, slide_in=None) for note in event.notes]
    notes = tuple(
        tie if has_partner(before, event, tie) else note for tie, note in zip(ties, event.notes, strict=True)
    )
    if notes == event.notes:
        raise ScoreError(
            "no equal note right before this one to tie to",
            place=describe(score, onset),
            hint="a tie joins two notes of one course and fret",
        )
    stroke = event.stroke if any(not note.tied for note in notes) else None
    return change_event(score, onset, event.with_(notes=notes, stroke=stroke, grace=()))


def split(score: Score, place: Place) -> Score:
    """Strike the event at a place a second time: at the place itself or, on its onset, half-way.

    Raises:
        ScoreError: It is a rest, or its parts would be shorter than a 64th.
    """
    onset, event = sounding_here(score, place, "second stroke")
    first = place.offset - onset.offset if place != onset else event.length / 2
    if place == onset and event.length < _SHORTEST_SPLIT:
        raise ScoreError("this is too short to split", place=describe(score, onset), hint="a 32nd at least")
    again = event.with_(
        notes=tuple(struck(note) for note in event.notes), grace=(), stroke=None, proposed_stroke=None
    )
    return splice(score, onset, [(divided(event)[0], first), (again, event.length - first)])


def join(score: Score, place: Place) -> Score:
    """Let the event at a place take over the time of the next one.

    Raises:
        ScoreError: Nothing follows.
    """
    onset, event = here(score, place)
    following = next_event(score, onset)
    if following is None:
        raise ScoreError(
            "nothing follows to join with", place=describe(score, onset), hint="go to an earlier event"
        )
    length = event.length + following[1].length
    return splice(score, onset, [(None if event.is_rest else event, length)])
