"""Ways round a finding that its rule knows; `tabterm.hand.ways` adds those that need the whole phrase."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from tabterm.hand.bends import as_slur
from tabterm.hand.finding import Kind, Remedy
from tabterm.hand.schools import SCHOOLS
from tabterm.hand.stroke_row import turn
from tabterm.score.kinds import Reached, StrokeSchool
from tabterm.score.operations import (
    clear_grace,
    move_course,
    scale_tempos,
    set_bend,
    set_finger,
    set_reached,
    set_ring,
    set_school_of,
    set_staccato,
    set_stroke,
    set_tempo,
    toggle_tie,
)
from tabterm.score.operations.draft import change_event
from tabterm.score.operations.target import note_here, sounding_here
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of, next_event
from tabterm.score.tempo import SLOWEST, Tempo

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.hand.finding import Situation, Step
    from tabterm.hand.stops import Stop
    from tabterm.score.model import Event, Head, Note, Score

BEND_STEP = 5  #: cents; tuned here
"""A smaller bend is offered in such steps."""

SLOWDOWNS = (1.0, 1.25, 1.6, 2.0)  #: times the time that is missing; tuned here
"""What gives the missing time may not be slow enough, since the hand then goes another way: these are tried."""

SLOWEST_PART = 0.2  #: part of the tempo; tuned here, the slowest that it is played at
"""No tempo is offered that is slower than this part of the written one."""


# Fingers and courses


def free_fingers(moment: Situation, chosen: Iterable[tuple[Note, Place]]) -> Iterator[Remedy]:
    """Give up the set finger of each of these notes, or of all."""
    named = [(note, at) for note, at in chosen if note.finger is not None]
    for each in named:
        label = f"clear finger {each[0].finger} at fret {each[0].fret}"
        yield Remedy(Kind.FINGER, label, partial(_freed, [each], moment.place))
    if len(named) > 1:
        yield Remedy(Kind.FINGER, "clear all of these fingers", partial(_freed, named, moment.place))


def _freed(chosen: Iterable[tuple[Note, Place]], found: Place, score: Score, place: Place) -> Score:
    for note, at in chosen:
        score = set_finger(score, _seen_from(found, at, place), note.course, None)
    return score


def _seen_from(found: Place, at: Place, place: Place) -> Place:
    """A place near a finding, where the finding itself is at another `place`: in a part of the score."""
    return Place(at.measure - found.measure + place.measure, at.offset)


def other_courses(head: Head, event: Event, note: Note) -> Iterator[Remedy]:
    """The same pitch on each other course that is free; nearest first."""
    taken = {other.course for other in event.notes}
    places = head.instrument.places_of(head.instrument.pitch(note.course, note.fret))
    letters = head.instrument.course_letters()
    for course, fret in sorted(places, key=lambda at: abs(at[0] - note.course)):
        if course not in taken:
            step = course - note.course
            yield Remedy(
                Kind.COURSE, f"course {letters[course - 1]}, fret {fret}", partial(_to_course, note.course, step)
            )


def _to_course(course: int, step: int, score: Score, place: Place) -> Score:
    following = next_event(score, place)
    end = following[0] if following else end_of(score)
    return move_course(score, Span(place, end), step, course)


# How a note is sounded


def strike(note: Note) -> Remedy:
    """Pick the note instead of slurring it."""
    return reach_by(note, Reached.STRUCK, "pick it instead of slurring")


def reach_by(note: Note, reached: Reached, label: str) -> Remedy:
    """Slur the note in another way."""
    course = note.course
    return Remedy(Kind.SLUR, label, lambda score, place: set_reached(score, place, course, reached))


def strike_next(stop: Stop) -> Iterator[Remedy]:
    """Pick the note that would be pulled off from a stop."""

    def operation(score: Score, place: Place) -> Score:
        following = next_event(score, place)
        at = following[0] if following else place
        return set_reached(score, at, stop.course, Reached.STRUCK)

    yield Remedy(Kind.SLUR, "pick the next note instead of pulling off", operation)


def slur_instead(moment: Situation) -> Iterator[Remedy]:
    """Slur a note from the one before on its course instead of picking it."""
    for note in moment.event.notes:
        source = moment.source(note)
        if len(moment.event.notes) == 1 and source is not None and source.fret != note.fret and not note.slurred:
            if note.fret > source.fret:
                yield reach_by(note, Reached.HAMMER, "hammer it on instead of picking")
            elif source.fret > 0:
                yield reach_by(note, Reached.PULL, "pull it off instead of picking")


def cut_before(moment: Situation, step: Step) -> Iterator[Remedy]:
    """Let the note before a shift go early: it is written as a staccato."""
    at, before, found = moment.before_place, moment.before, moment.place
    if at is None or before is None or before.is_rest or before.staccato or step.hold.onset.grace is not None:
        return
    if step.before is not None and step.before.grip.down:
        yield Remedy(
            Kind.SLUR,
            "shorten the note before (staccato)",
            lambda score, place: set_staccato(score, _seen_from(found, at, place), True),  # noqa: FBT003
        )


def let_not_ring(moment: Situation, note: Note, at: Place) -> Remedy:
    """Do not let the note at another place ring."""
    course, found = note.course, moment.place
    return Remedy(
        Kind.SLUR,
        "do not let it ring",
        lambda score, place: set_ring(score, _seen_from(found, at, place), course, not note.ring),
    )


def slide_instead(note: Note) -> Iterator[Remedy]:
    """Slide to the pitch that a note is bent to; from an open course hammer it on."""
    course = note.course

    def operation(score: Score, place: Place) -> Score:
        onset, event, bent = note_here(score, place, course)
        slurred = as_slur(score.head.instrument, bent)
        if slurred is None:
            return score
        notes = tuple(slurred[1] if each.course == course else each for each in event.notes)
        return change_event(score, onset, event.with_(notes=notes, grace=(*event.grace, *slurred[0])))

    word = "slide" if note.fret else "hammer on"
    yield Remedy(Kind.SLUR, f"{word} to the pitch of the bend", operation)


def smaller_bend(note: Note, cents: float) -> Iterator[Remedy]:
    """Bend no further than so many cents."""
    course, bend, least = note.course, note.bend, BEND_STEP * int(cents // BEND_STEP)
    if bend is not None and least >= BEND_STEP:
        yield Remedy(
            Kind.PITCH,
            f"bend by only {least} cents",
            lambda score, place: set_bend(score, place, course, bend.with_(cents=least)),
        )


def unbend(note: Note) -> Remedy:
    """Leave the bend out."""
    course = note.course
    return Remedy(Kind.PITCH, "leave the bend out", lambda score, place: set_bend(score, place, course, None))


# The right hand


def free_stroke(label: str = "clear the set stroke") -> Remedy:
    """Give the set stroke up."""
    return Remedy(Kind.STROKE, label, lambda score, place: set_stroke(score, place, None))


def turn_stroke() -> Iterator[Remedy]:
    """Turn the stroke round; proposals follow it only where they are set."""
    yield Remedy(Kind.STROKE, "turn the stroke", turn)


def other_schools() -> Iterator[Remedy]:
    """Another school of strokes for the measure."""
    for school in (StrokeSchool.ALTERNATE, StrokeSchool.BEAT):
        words = f"strokes in this measure: {SCHOOLS[school].title}"
        yield Remedy(Kind.STROKE, words, partial(_school, school))


def _school(school: StrokeSchool, score: Score, place: Place) -> Score:
    return set_school_of(score, place.measure, place.measure, school)


# Slower and easier


def slower(tempo: Tempo, ratio: float) -> Iterator[Remedy]:
    """Tempos at which there is so many times more time, and more: for the measure, then for everything."""
    for kind, words, operation in (
        (Kind.MEASURE, "this measure at", _measure_at),
        (Kind.TEMPO, "everything slower, here at", _all_at),
    ):
        for each in _slower(tempo, ratio):
            yield Remedy(kind, f"{words} {each}", partial(operation, each))


def _slower(tempo: Tempo, ratio: float) -> Iterator[Tempo]:
    for more in SLOWDOWNS:
        per_minute = math.floor(tempo.per_minute / (ratio * more) + 1e-6)
        if per_minute >= max(SLOWEST, SLOWEST_PART * tempo.per_minute) and per_minute < tempo.per_minute:
            yield Tempo(float(per_minute), tempo.beat)


def _measure_at(tempo: Tempo, score: Score, place: Place) -> Score:
    """One measure at a tempo, and the next one at its own again."""
    index, own = place.measure, score.tempos[place.measure]
    slowed = set_tempo(score, index, tempo)
    following = index + 1
    if following < len(score.measures) and score.measures[following].tempo is None:
        slowed = set_tempo(slowed, following, own)
    return slowed


def _all_at(tempo: Tempo, score: Score, place: Place) -> Score:
    own = score.tempos[place.measure]
    return scale_tempos(score, tempo.quarters_per_minute / own.quarters_per_minute)


def strike_less(moment: Situation) -> Iterator[Remedy]:
    """Hold a note instead of repeating it; leave grace notes out."""
    before, event = moment.before, moment.event
    if before is not None and [(n.course, n.fret) for n in before.notes] == [
        (n.course, n.fret) for n in event.notes
    ]:
        yield Remedy(Kind.RHYTHM, "hold the note before instead of repeating it", toggle_tie)
    if event.grace:
        yield Remedy(Kind.RHYTHM, "leave the grace notes out", clear_grace)


def one_by_one() -> Iterator[Remedy]:
    """Break a chord: the lower notes as grace notes before the highest."""
    yield Remedy(Kind.RHYTHM, "the low note first, then the high one", _broken)


def _broken(score: Score, place: Place) -> Score:
    onset, event = sounding_here(score, place, "grace note")
    high, *low = event.notes
    if event.grace or not low or not all(note.is_struck for note in event.notes):
        return score
    return change_event(score, onset, event.with_(notes=(high,), grace=tuple(low[::-1])))
