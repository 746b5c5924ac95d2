"""Fingers proposed: written beside the player's own, never over them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.fingering import fingering
from tabterm.hand.strokes import with_proposals
from tabterm.score.operations import map_events
from tabterm.score.operations.draft import MeasureDraft, change_event, commit
from tabterm.score.operations.target import note_here
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tabterm.hand.fingering import Hold
    from tabterm.hand.player import Player
    from tabterm.hand.stops import Grip, Stop
    from tabterm.score.model import Event, Note, Score
    from tabterm.score.place import Span


def with_fingers(score: Score, player: Player, *, keep_courses: bool = True) -> Score:
    """The score with `proposed_finger` of every stopped note that has no set finger.

    Without `keep_courses` notes move to the courses that the search chose. Measures in which nothing differs
    stay the same objects, and so does the score.
    """
    return carried_out(score, fingering(score, player, keep_courses=keep_courses).unwritten())


def with_hands(score: Score, player: Player, *, keep_courses: bool = True) -> Score:
    """The score with strokes and fingers proposed; strokes once more where notes have changed course."""
    struck = with_proposals(score, player)
    fingered = with_fingers(struck, player, keep_courses=keep_courses)
    return fingered if keep_courses else with_proposals(fingered, player)


def carried_out(score: Score, holds: Iterable[Hold], *, chosen: bool = False) -> Score:
    """The score with the hand's places and fingers at these onsets, proposed or (`chosen`) as the player's own."""
    grips: dict[Place, dict[int | None, Grip]] = {}
    for hold in holds:
        grips.setdefault(hold.onset.place, {})[hold.onset.grace] = hold.grip
    touched = sorted({place.measure for place in grips})
    if not touched:
        return score
    first, last = touched[0], touched[-1]
    drafts = [
        MeasureDraft.of(
            score.measures[index],
            [
                _event(event, grips.get(Place(index, offset), {}), chosen=chosen)
                for offset, event in score.measures[index].timed()
            ],
        )
        for index in range(first, last + 1)
    ]
    return commit(score, first, len(drafts), drafts)


def _event(event: Event, grips: dict[int | None, Grip], *, chosen: bool) -> Event:
    """The event with the fingers of its grips: its own, and those of its grace notes by number."""
    grace = tuple(
        _notes((note,), grips[number], chosen=chosen)[0] if number in grips else note
        for number, note in enumerate(event.grace)
    )
    notes = _notes(event.notes, grips[None], chosen=chosen) if None in grips else event.notes
    if all(a is b for a, b in zip((*notes, *grace), (*event.notes, *event.grace), strict=True)):
        return event
    return event.with_(notes=tuple(sorted(notes, key=lambda note: note.course)), grace=grace)


def _notes(notes: tuple[Note, ...], grip: Grip, *, chosen: bool) -> tuple[Note, ...]:
    return tuple(_note(note, stop, chosen=chosen) for note, stop in zip(notes, grip.notes, strict=True))


def _note(note: Note, stop: Stop, *, chosen: bool) -> Note:
    course, fret, finger = stop
    own = note.finger if note.finger is not None or not chosen else finger or None
    held = note.course_set or (chosen and course != note.course)
    proposed = finger or None if own is None else None
    changes = {"course": course, "fret": fret, "finger": own, "proposed_finger": proposed, "course_set": held}
    if all(getattr(note, name) == value for name, value in changes.items()):
        return note
    return note.with_(**changes)


def with_stop(score: Score, place: Place, course: int, stop: Stop) -> Score:
    """The score with one note at another place or finger, as the player's own; all others as they are."""
    onset, event, note = note_here(score, place, course)
    moved = _note(note.with_(finger=None), stop, chosen=True)
    notes = sorted((moved if other is note else other for other in event.notes), key=lambda each: each.course)
    return change_event(score, onset, event.with_(notes=tuple(notes)))


def accept_fingers(score: Score, span: Span) -> Score:
    """Make the proposed fingers of a span the player's own; set ones stay."""
    return _each(score, span, lambda note: _with_finger(note, note.finger_shown))


def free_fingers(score: Score, span: Span) -> Score:
    """Give every finger of a span back to the proposal."""
    return _each(score, span, lambda note: _with_finger(note, None))


def _with_finger(note: Note, finger: int | None) -> Note:
    return note if note.finger == finger else note.with_(finger=finger)


def _each(score: Score, span: Span, change: Callable[[Note], Note]) -> Score:
    def changed(_: Place, event: Event) -> Event:
        notes, grace = tuple(map(change, event.notes)), tuple(map(change, event.grace))
        return event if (notes, grace) == (event.notes, event.grace) else event.with_(notes=notes, grace=grace)

    return map_events(score, span, changed)
