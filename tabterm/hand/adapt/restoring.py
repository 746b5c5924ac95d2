"""Putting the original back into an arrangement, where it departs from it, on the course that suits best."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.hand.adapt.chords import fitted
from tabterm.hand.fingering import fingering
from tabterm.hand.neck import neck_of
from tabterm.hand.proposals import carried_out
from tabterm.hand.trial import surroundings
from tabterm.harmony.spelling import harmony_in_force, pitch_words
from tabterm.score.comparison import differences, transposition
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Event, Note
from tabterm.score.operations.draft import change_event, map_events
from tabterm.score.operations.timeline import splice
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import event_at, events_in, move_by

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from tabterm.hand.neck import Neck
    from tabterm.hand.player import Player
    from tabterm.score.model import Score


MOST_ROUNDS = 5  #: rounds; implementation limit


@dataclass(frozen=True, slots=True)
class Original:
    """A moment of the original line with all that is tied to it: when, how long in quarters, and its pitches."""

    place: Place
    length: Fraction
    pitches: tuple[int, ...]


def restore(score: Score, player: Player, span: Span) -> Score:
    """The score with every note of a span that departs from the original as the original has it.

    It comes in the octave and key of the arrangement, with its own length; what cannot be played stays as it is.
    The score itself is returned where nothing departs.

    Raises:
        ScoreError: Nothing that departs there can be put back.
    """
    line = _originals(score)
    starts = [each.place for each in line]
    refused: dict[Original, ScoreError] = {}
    restored = score
    for _ in range(MOST_ROUNDS):  # what one is put back over may uncover another
        found: dict[Original, list[Place]] = {}
        for each in differences(restored):
            if each.place in span:
                found.setdefault(line[bisect_right(starts, each.place) - 1], []).append(each.place)
        left = sorted(found.keys() - refused.keys(), key=lambda original: original.place)
        if not left:
            break
        for original in left:
            try:
                restored = _put_back(restored, player, original, found[original], transposition(score))
            except ScoreError as error:
                refused[original] = error
    if refused and restored is score:
        raise next(iter(refused.values()))
    return restored


def _originals(score: Score) -> list[Original]:
    """The original line, ties joined."""
    line: list[Original] = []
    for index, measure in enumerate(score.measures):
        for offset, event in measure.timed_source():
            length = event.duration.length
            if event.tied and line and line[-1].pitches == event.pitches:
                length += line[-1].length
                line[-1] = Original(line[-1].place, length, event.pitches)
            else:
                line.append(Original(Place(index, offset), length, event.pitches))
    return line


def _put_back(score: Score, player: Player, original: Original, places: Sequence[Place], shift: int) -> Score:
    """The score with one moment of the original; where that is silent, without what begins at the places."""
    if not original.pitches:
        for place in places:
            found = event_at(score, place)
            score = score if found is None else splice(score, found[0], [(None, found[1].length)])
        return score
    at, notes = original.place, _notes(score, neck_of(score.head, player), original, shift)
    standing = event_at(score, at)
    event = Event(duration=EIGHTH, notes=notes)
    if standing is not None and standing[0] == at and not standing[1].is_rest:
        kept = {(note.course, note.fret): note for note in standing[1].notes if not note.tied}
        marked = tuple(kept.get((note.course, note.fret), note) for note in notes)
        event = standing[1].with_(notes=marked)
    laid = splice(score, at, [(event, original.length)])
    return _well_placed(laid, player, Span(at, move_by(laid, at, original.length)))


def _notes(score: Score, neck: Neck, original: Original, shift: int) -> tuple[Note, ...]:
    """Notes for the pitches of the original, on whatever course; raises ScoreError where none is new."""
    key = score.keys[original.place.measure]
    pitches = tuple(sorted((pitch + shift for pitch in original.pitches), reverse=True))
    if not neck.instrument.places_of(pitches[0]):
        raise ScoreError(
            f"{pitch_words(pitches[0], key)} is not on this neck",
            place=describe(score, original.place),
            hint="choose another octave or key with the command 'fit'",
        )
    found = fitted(neck, pitches, harmony_in_force(score, original.place))
    standing = event_at(score, original.place)
    sounding = (
        [] if standing is None else [neck.instrument.pitch(each.course, each.fret) for each in standing[1].notes]
    )
    if found.pitches != pitches and set(found.pitches) == set(sounding):
        raise ScoreError(
            "the missing notes cannot be played with the others", place=describe(score, original.place)
        )
    return tuple(Note(course=course, fret=fret) for course, fret in found.places)


def _well_placed(score: Score, player: Player, span: Span) -> Score:
    """The score with the notes of a span on the courses that the search likes best; all others stay."""
    first = span.start.measure
    piece, before = surroundings(score, first)
    inside = Span(Place(first - before, span.start.offset), Place(span.end.measure - before, span.end.offset))
    held = map_events(
        piece,
        Span(Place(0), Place(len(piece.measures))),
        lambda place, event: event if place in inside else _held(event),
    )
    solved = carried_out(held, fingering(held, player.unbound, keep_courses=False).holds())
    for place, event in events_in(solved, inside):
        score = change_event(score, Place(place.measure + before, place.offset), event)
    return score


def _held(event: Event) -> Event:
    return event.with_(
        notes=tuple(note.with_(course_set=True) for note in event.notes),
        grace=tuple(note.with_(course_set=True) for note in event.grace),
    )
