"""Ways round a finding, each an operation on the score; what each does for it is tried before it is offered."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.hand.alternatives import alternatives, choices
from tabterm.hand.finding import Remedy
from tabterm.hand.onsets import phrases
from tabterm.hand.proposals import carried_out
from tabterm.hand.schools import SCHOOLS
from tabterm.hand.stroke_row import turn
from tabterm.score.kinds import Reached, StrokeSchool
from tabterm.score.operations import (
    move_course,
    remove_note,
    set_bend,
    set_finger,
    set_reached,
    set_ring,
    set_school_of,
    set_staccato,
    set_stroke,
    set_tempo,
    transpose,
)
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import end_of, next_event
from tabterm.score.tempo import Tempo

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.hand.alternatives import Alternative
    from tabterm.hand.effort import Grip, Stop
    from tabterm.hand.finding import Situation, Step
    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Head, Note, Score

BEND_STEP = 5  #: cents; tuned here
"""A smaller bend is offered in such steps."""

MOST_SLOWER = 90  #: %; tuned here
"""No tempo is offered that is slower by so much."""


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


def smaller_bend(note: Note, cents: float) -> Iterator[Remedy]:
    """Bend no further than so many cents."""
    course, bend, least = note.course, note.bend, BEND_STEP * int(cents // BEND_STEP)
    if bend is not None and least >= BEND_STEP:
        yield Remedy(
            f"bend by {least} cents",
            lambda score, place: set_bend(score, place, course, bend.with_(cents=least)),
        )


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


def turn_stroke() -> Iterator[Remedy]:
    """Turn the stroke round; proposals follow it only where they are set."""
    yield Remedy("turn the stroke round", turn)


def other_schools() -> Iterator[Remedy]:
    """Another school of strokes for the measure."""
    for school in (StrokeSchool.ALTERNATE, StrokeSchool.BEAT):
        yield Remedy(f"strokes {SCHOOLS[school].title} in this measure", partial(_school, school))


def _school(school: StrokeSchool, score: Score, place: Place) -> Score:
    return set_school_of(score, place.measure, place.measure, school)


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


def other_courses_of_all(moment: Situation) -> Iterator[Remedy]:
    """The only note of an event on each other course; none for a double stop."""
    if len(moment.event.notes) == 1:
        yield from other_courses(moment.head, moment.event, moment.event.notes[0])


def other_courses_of(moment: Situation, stop: Stop) -> Iterator[Remedy]:
    """The note of a stop on each other course that is free."""
    note = moment.event.on_course(stop.course)
    if note is not None:
        yield from other_courses(moment.head, moment.event, note)


def other_fingers(moment: Situation, stop: Stop) -> Iterator[Remedy]:
    """The next best finger for a stop, the rest of the phrase solved round it."""
    course, finger, letter = stop.course, stop.finger, _letter(moment, stop.course)
    player = moment.neck.player

    def operation(score: Score, place: Place) -> Score:
        for choice in choices(score, player, place, course):
            if choice.stop[:2] == stop[:2] and choice.stop.finger != finger:
                return set_finger(score, place, course, choice.stop.finger)
        raise ScoreError("no other finger can play it", place=describe(score, place), hint="try another way")

    if moment.event.on_course(course) is not None:
        yield Remedy(f"another finger than {finger} on course {letter}", operation)


def free_fingers(_moment: Situation, chosen: Iterable[tuple[Note, Place]]) -> Iterator[Remedy]:
    """Give the set finger up of each of these notes."""
    for note, at in chosen:
        if note.finger is not None:
            yield _freed(note, at)


def _freed(note: Note, at: Place) -> Remedy:
    course = note.course
    return Remedy(
        f"give finger {note.finger} at fret {note.fret} up",
        lambda score, _place: set_finger(score, at, course, None),
    )


def cut_before(moment: Situation, step: Step, short_ms: int) -> Iterator[Remedy]:
    """Let the note before a shift go early: it is written as a staccato."""
    at, before = moment.before_place, moment.before
    if at is None or before is None or before.is_rest or before.staccato or step.hold.onset.grace is not None:
        return
    if step.before is not None and step.before.grip.down:
        yield Remedy(
            f"cut the note before short by {short_ms} ms",
            lambda score, _place: set_staccato(score, at, True),  # noqa: FBT003,
        )


def another_position(moment: Situation) -> Iterator[Remedy]:
    """The measure, and the one before, in each of the next best fingerings that is another at this place."""
    for number, label in enumerate(("another position for the phrase", "a third position for the phrase")):
        yield Remedy(label, partial(_position, moment.neck.player, number))


def _position(player: Player, number: int, score: Score, place: Place) -> Score:
    span = Span(Place(max(place.measure - 1, 0)), Place(place.measure + 1))
    found = alternatives(score, player, span)
    differing = [other for other in found[1:] if _at(found[0], place) != _at(other, place)]
    if number >= len(differing):
        raise ScoreError("there is no other position", place=describe(score, place), hint="try another way")
    return carried_out(score, differing[number].holds, chosen=True)


def _at(alternative: Alternative, place: Place) -> list[tuple[Grip, int]]:
    return [(hold.grip, hold.frame) for hold in alternative.holds if hold.onset.place == place]


def by_octaves(_moment: Situation) -> Iterator[Remedy]:
    """The whole phrase an octave higher or lower."""
    for semitones, label in ((-12, "move the phrase an octave down"), (12, "move the phrase an octave up")):
        yield Remedy(label, partial(_by_octave, semitones))


def _by_octave(semitones: int, score: Score, place: Place) -> Score:
    for phrase in phrases(score):
        if phrase[0].place <= place <= phrase[-1].place:
            following = next_event(score, phrase[-1].place)
            end = following[0] if following else end_of(score)
            return transpose(score, Span(phrase[0].place, end), semitones)
    raise ScoreError("there is no phrase here", place=describe(score, place), hint="go to a note")


def slower(ratio: float) -> Iterator[Remedy]:
    """A tempo at which there is so many times more time, or twice that, since other ways open then."""
    for factor in (ratio, 2.0 * ratio):
        percent = math.ceil((1.0 - 1.0 / factor) * 100.0) + 1
        if percent < MOST_SLOWER:
            yield Remedy(f"slower by {percent} %", partial(_slower, 1.0 - percent / 100.0))


def _slower(factor: float, score: Score, place: Place) -> Score:
    """Another tempo where the one in force was set."""
    index = next((i for i in range(place.measure, 0, -1) if score.measures[i].tempo is not None), 0)
    tempo = score.tempos[index]
    return set_tempo(score, index, Tempo(math.floor(tempo.per_minute * factor * 10.0) / 10.0, tempo.beat))


def strike_next(stop: Stop) -> Iterator[Remedy]:
    """Pick the note that would be pulled off from a stop."""

    def operation(score: Score, place: Place) -> Score:
        following = next_event(score, place)
        at = following[0] if following else place
        return set_reached(score, at, stop.course, Reached.STRUCK)

    yield Remedy("pick the next note instead of pulling off", operation)


def slur_instead(moment: Situation) -> Iterator[Remedy]:
    """Slur a note from the one before on its course instead of picking it."""
    for note in moment.event.notes:
        source = moment.source(note)
        if len(moment.event.notes) == 1 and source is not None and source.fret != note.fret and not note.slurred:
            if note.fret > source.fret:
                yield reach_by(note, Reached.HAMMER, "hammer it on instead of picking")
            elif source.fret > 0:
                yield reach_by(note, Reached.PULL, "pull it off instead of picking")


def leave_out_lowest(moment: Situation) -> Iterator[Remedy]:
    """A double stop without its lowest note."""
    if len(moment.event.notes) > 1:
        lowest = max(moment.event.notes, key=lambda note: note.course)
        course = lowest.course
        yield Remedy(
            f"leave out the lowest note (course {_letter(moment, course)}, fret {lowest.fret})",
            lambda score, place: remove_note(score, place, course),
        )


def _letter(moment: Situation, course: int) -> str:
    return moment.head.instrument.course_letters()[course - 1]
