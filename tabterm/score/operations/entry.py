"""Writing and taking away notes, rests and time."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import Event, Note, Score
from tabterm.score.operations.draft import change_event, struck
from tabterm.score.operations.marks import chords_in, lay_chords
from tabterm.score.operations.target import check_on_neck, note_here, sounding_here
from tabterm.score.operations.timeline import divided, flatten, splice
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import (
    attack_of,
    distance,
    end_of,
    event_at,
    event_before,
    move_by,
    pieces_of,
    previous_event,
    tied_on,
    whole_length,
)
from tabterm.score.seams import has_partner

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.duration import Duration
    from tabterm.score.operations.timeline import Filling


def write(score: Score, place: Place, duration: Duration, notes: tuple[Note, ...] = ()) -> Score:
    """Write an event (a rest, without notes) over the time from `place` on.

    It goes on over the bar line with a tie; past the last measure, measures are added. A rest joins the
    rests next to it, but for the rest of a tuplet.

    Raises:
        ScoreError: A fret is beyond the neck.
    """
    check_on_neck(score, place, notes)
    joins_rests = not notes and duration.tuplet is None
    event = None if joins_rests else Event(duration=duration, notes=_in_order(notes))
    return splice(score, place, [(event, duration.length)])


def write_notes(
    score: Score,
    place: Place,
    notes: tuple[Note, ...],
    duration: Duration,
    grace: tuple[Note, ...] = (),
    length: Fraction | None = None,
) -> Score:
    """Write notes with their grace notes over the time from `place` on, on all courses, as a key on the grid does.

    What they cover is gone. A finger proposed for what stood there on their courses stands until another is
    worked out.

    Args:
        score: The score.
        place: Where they begin.
        notes: The notes, each on a course of its own.
        duration: Their value.
        grace: Grace notes before them, in order.
        length: How long they last, in quarters, where that is several tied values.

    Raises:
        ScoreError: A fret is beyond the neck, or a slur has no note to start from.
    """
    check_on_neck(score, place, (*notes, *grace))
    found = event_at(score, place)
    before = found[1] if found and found[0] == place else None
    kept = (_with_finger(note, before.on_course(note.course) if before else None) for note in notes)
    written = Event(duration=duration, notes=_in_order(kept), grace=grace)
    for note in notes:
        _check_slur(score, place, written, note)
    return splice(score, place, [(written, duration.length if length is None else length)])


def write_again(score: Score, place: Place, at: Place, by: int = 0) -> Score:
    """Write the event of one place at another as well, struck, `by` courses lower-pitched at the same frets.

    Raises:
        ScoreError: It has no such courses.
    """
    onset, event = sounding_here(score, place, "copy")
    courses = [note.course + by for note in event.notes]
    if min(courses) < 1 or max(courses) > score.head.instrument.course_count:
        raise ScoreError("this shape does not fit there", place=describe(score, at), hint="go to another course")
    same = {} if not by else {"finger": None, "proposed_finger": None, "course_set": False}
    notes = tuple(
        struck(note).with_(course=course, **same) for note, course in zip(event.notes, courses, strict=True)
    )
    copied = event.with_(notes=notes, stroke=None, proposed_stroke=None, grace=() if by else event.grace)
    return splice(score, at, [(copied, whole_length(score, onset))])


def put_note(score: Score, place: Place, note: Note, duration: Duration) -> Score:
    """Add a note to the event that begins at `place`, with all that is tied to it.

    One on its course gives way to it; the event keeps its duration. Where no notes begin, a new event of
    `duration` is written.

    Raises:
        ScoreError: The fret is beyond the neck, or a slur or tie has no note to start from.
    """
    check_on_neck(score, place, (note,))
    found = event_at(score, place)
    if found is None or found[0] != place or found[1].is_rest:
        return write_notes(score, place, (note,), duration)
    before = found[1].on_course(note.course)
    note = _with_finger(note, before)
    changed = _with_note(found[1], note)
    _check_slur(score, place, changed, note)
    followers = list(tied_on(score, place, note.course))
    parts = pieces_of(score, place)[1:] if before is None else []
    score = change_event(score, place, changed)
    for onset, follower, old in followers:
        renewed = old.with_(fret=note.fret, finger=None, proposed_finger=None)
        score = change_event(score, onset, _with_note(follower, renewed))
    for onset, part in parts:
        for tied in divided(part.with_(notes=(note,)))[1].notes:
            score = change_event(score, onset, _with_note(part, tied))
    return score


def _check_slur(score: Score, place: Place, event: Event, note: Note) -> None:
    if not has_partner(event_before(score, place), event, note):
        raise ScoreError(
            "no note to slur from",
            place=describe(score, place),
            hint="write the note before it first",
        )


def _with_finger(note: Note, before: Note | None) -> Note:
    """The note with the finger that was proposed for the one that it replaces."""
    if before is None or not note.fret or note.finger_shown is not None:
        return note
    return note.with_(proposed_finger=before.proposed_finger)


def _with_note(event: Event, note: Note) -> Event:
    """The event with a note added, or in place of the one on its course."""
    return event.with_(notes=_in_order([*(n for n in event.notes if n.course != note.course), note]))


def _in_order(notes: Iterable[Note]) -> tuple[Note, ...]:
    return tuple(sorted(notes, key=lambda note: note.course))


def hold(score: Score, place: Place, duration: Duration) -> Score:
    """Let the note before `place` last until `place` + `duration`, over whatever stands there.

    A note that already lasts longer stays as it is.

    Raises:
        ScoreError: No note stands before.
    """
    found = event_at(score, place)
    if found is None or found[0] == place:
        found = previous_event(score, place)
    while found is not None and found[1].is_rest:
        found = previous_event(score, found[0])
    if found is None:
        raise ScoreError(
            "no note before this one to hold", place=describe(score, place), hint="write a note first"
        )
    onset, event = found
    length = distance(score, onset, place) + duration.length
    return splice(score, onset, [(event, length)]) if length > event.length else score


def remove_note(score: Score, place: Place, course: int) -> Score:
    """Take the note on a course, and all that is tied to it, out of the event at `place`.

    An event without notes is a rest.

    Raises:
        ScoreError: No such note.
    """
    onset, event, note = note_here(score, place, course)
    for at, each, _ in [(onset, event, note), *tied_on(score, onset, course)]:
        kept = tuple(other for other in each.notes if other.course != course)
        if kept:
            score = change_event(score, at, each.with_(notes=kept))
        else:
            score = splice(score, at, [(None, each.length)])
    return score


def erase(score: Score, span: Span) -> Score:
    """Make a span silent; an event that begins before it is cut short, one that reaches past it too."""
    end = min(span.end, end_of(score))
    return splice(score, span.start, [(None, distance(score, span.start, end))])


def insert_time(score: Score, span: Span, end: Place) -> Score:
    """Push what stands from the start of a span to `end` to the right, so that the span is empty.

    A note that lasts over the start is cut there, and what is pushed over `end` is gone. Chord symbols, marks and
    the source line stay in their measures.
    """
    span = Span(span.start, min(span.end, end))
    gap, room = distance(score, span.start, span.end), distance(score, span.end, end)
    fillings: list[Filling] = [(None, gap)]
    for event, length in _begun_in(score, Span(span.start, end)):
        fillings.append((event, min(length, room)))
        room -= min(length, room)
    return splice(score, span.start, fillings)


def _begun_in(score: Score, span: Span) -> list[Filling]:
    """The events of a span as fillings; what goes on from before it is silence."""
    fillings = flatten(score, span)
    found = attack_of(score, span.start)
    if fillings and found is not None and found[0] < span.start:
        fillings[0] = (None, fillings[0][1])
    return fillings


def delete_time(score: Score, span: Span, end: Place) -> Score:
    """Take a span out of the music; what follows up to `end` moves to the left, and silence fills the gap there.

    Chord symbols, marks and the source line stay in their measures.
    """
    span = Span(span.start, min(span.end, end))
    gap = distance(score, span.start, span.end)
    return splice(score, span.start, [*flatten(score, Span(span.end, end)), (None, gap)]) if gap else score


def push_all(score: Score, span: Span) -> Score:
    """Push all music from the start of a span on to the right, over the bar lines, with its chord symbols.

    Silence at the end of the score gives way first; then measures are added. Other marks stay in their measures.

    Raises:
        ScoreError: A repeat would be torn.
    """
    _check_no_repeat(score, span.start)
    gap = distance(score, span.start, span.end)
    fillings = _begun_in(score, Span(span.start, end_of(score)))
    if fillings and fillings[-1][0] is None:
        _, length = fillings.pop()
        fillings.append((None, max(length - gap, Fraction(0))))
    pushed = splice(score, span.start, [(None, gap), *fillings])
    return _with_chords_moved(score, pushed, Span(span.start, end_of(score)), gap)


def pull_all(score: Score, span: Span) -> Score:
    """Take a span out of the music; all that follows moves to the left over the bar lines, with its chord symbols.

    The chord that holds at the end of the span stays, where no other begins there. Other marks stay in their
    measures.

    Raises:
        ScoreError: A repeat would be torn.
    """
    _check_no_repeat(score, span.start)
    end = end_of(score)
    span = Span(span.start, min(span.end, end))
    pulled = delete_time(score, span, end)
    return _with_chords_moved(score, pulled, Span(span.start, end), -distance(score, span.start, span.end))


def _with_chords_moved(score: Score, moved: Score, span: Span, by: Fraction) -> Score:
    """The moved music with the chord symbols that stood in a span `by` quarters later, none before its start."""
    symbols = {
        move_by(moved, span.start, max(distance(score, span.start, at) + by, Fraction(0))): symbol
        for at, symbol in chords_in(score, span)
    }
    symbols.pop(end_of(moved), None)
    return lay_chords(moved, Span(span.start, end_of(moved)), symbols)


def _check_no_repeat(score: Score, place: Place) -> None:
    for index, measure in enumerate(score.measures[place.measure :], place.measure):
        if measure.repeat_times or measure.endings or (measure.repeat_start and index > place.measure):
            raise ScoreError(
                "moving all later music would break the repeat there",
                place=describe(score, Place(index)),
                hint="move it inside the measure, or insert a whole measure",
            )
