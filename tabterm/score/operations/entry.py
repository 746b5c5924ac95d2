"""Writing and taking away notes, rests and time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import Event, Note, Score, has_partner
from tabterm.score.operations.draft import change_event
from tabterm.score.operations.timeline import Piece, flatten, splice
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import distance, end_of, event_at, event_before, previous_event

if TYPE_CHECKING:
    from tabterm.score.duration import Duration


def write(score: Score, place: Place, duration: Duration, notes: tuple[Note, ...] = ()) -> Score:
    """Write an event (a rest, without notes) over the time from `place` on.

    It goes on over the bar line with a tie; past the last measure, measures are added.
    """
    _check_frets(score, place, notes)
    event = Event(duration=duration, notes=tuple(sorted(notes, key=lambda note: note.course)))
    return splice(score, place, [(event, duration.length)])


def put_note(score: Score, place: Place, note: Note, duration: Duration) -> Score:
    """Write a note as a key on the grid does.

    Where an event with notes begins at `place`, the note joins it, or replaces the one on its course; the
    event keeps its duration. Elsewhere a new event of `duration` is written.

    Raises:
        ScoreError: The fret is beyond the neck, or a slur or tie has nothing to come from.
    """
    _check_frets(score, place, (note,))
    found = event_at(score, place)
    joins = found is not None and found[0] == place and not found[1].is_rest
    if found is not None and joins:
        _, event = found
        kept = [other for other in event.notes if other.course != note.course]
        changed = event.with_(notes=tuple(sorted((*kept, note), key=lambda each: each.course)))
    else:
        changed = Event(duration=duration, notes=(note,))
    if not has_partner(event_before(score, place), changed, note):
        raise ScoreError("there is nothing to slur from", hint="write the first note of the slur first")
    if joins:
        return change_event(score, place.measure, _number(score, place), changed)
    return splice(score, place, [(changed, duration.length)])


def hold(score: Score, place: Place, duration: Duration) -> Score:
    """Let the note before `place` last until `place` + `duration`, over whatever stands there.

    Raises:
        ScoreError: No note stands before.
    """
    found = event_at(score, place)
    if found is None or found[1].is_rest or found[0] == place:
        found = previous_event(score, place)
        while found is not None and found[1].is_rest:
            found = previous_event(score, found[0])
    if found is None:
        raise ScoreError("no note stands before this to hold", place=_words(score, place))
    onset, event = found
    return splice(score, onset, [(event, distance(score, onset, place) + duration.length)])


def remove_note(score: Score, place: Place, course: int) -> Score:
    """Take the note on a course out of the event at `place`; without notes it is a rest.

    Raises:
        ScoreError: There is no such note.
    """
    found = event_at(score, place)
    if found is None or found[1].on_course(course) is None:
        raise ScoreError(f"there is no note on course {course}", place=_words(score, place))
    onset, event = found
    kept = tuple(note for note in event.notes if note.course != course)
    if not kept:
        return splice(score, onset, [(None, event.length)])
    return change_event(score, onset.measure, _number(score, onset), event.with_(notes=kept))


def erase(score: Score, span: Span) -> Score:
    """Make a span silent; an event that begins before it is cut short."""
    end = min(span.end, end_of(score))
    length = distance(score, span.start, end)
    return splice(score, span.start, [(None, length)]) if length > 0 else score


def insert_time(score: Score, span: Span) -> Score:
    """Push everything from the start of a span on to the right, so that the span is empty.

    Silence at the end of the score gives way first; then measures are added.
    """
    gap = distance(score, span.start, span.end)
    pieces = flatten(score, Span(span.start, end_of(score)))
    spare = gap
    while pieces and spare > 0 and (pieces[-1][0] is None or pieces[-1][0].is_rest):
        event, length = pieces.pop()
        if length > spare:
            pieces.append((event, length - spare))
        spare -= min(length, spare)
    return splice(score, span.start, [(None, gap), *_silent_rests(pieces)])


def delete_time(score: Score, span: Span) -> Score:
    """Take a span out of the music; what follows moves to the left, and silence fills the end."""
    end = min(span.end, end_of(score))
    gap = distance(score, span.start, end)
    pieces = flatten(score, Span(end, end_of(score)))
    return splice(score, span.start, [*_silent_rests(pieces), (None, gap)])


def _silent_rests(pieces: list[Piece]) -> list[Piece]:
    """Pieces whose rests may be spelled anew where they come to stand."""
    return [(None if event is None or event.is_rest else event, length) for event, length in pieces]


def _check_frets(score: Score, place: Place, notes: tuple[Note, ...]) -> None:
    instrument = score.head.instrument
    for note in notes:
        if note.fret > instrument.frets:
            raise ScoreError(
                f"fret {note.fret} is beyond the neck: this {instrument.name} has {instrument.frets}",
                place=_words(score, place),
                hint="use a higher course",
            )
        if note.course > instrument.course_count:
            raise ScoreError(f"there is no course {note.course}", place=_words(score, place))


def _number(score: Score, place: Place) -> int:
    """The number of the event that begins at a place, within its measure."""
    return score.measures[place.measure].onsets.index(place.offset)


def _words(score: Score, place: Place) -> str:
    return "after the end" if place.measure >= len(score.measures) else describe(score, place)
