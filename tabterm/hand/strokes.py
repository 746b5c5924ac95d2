"""Pick strokes proposed by the school in force in each measure.

Every struck event has a stroke and no other: a slurred, tied or missing note takes none and does not turn those
that follow (N. Gatherer, "Pick direction" 5, nigelgatherer.com), since the hand moves on
(`tabterm.hand.right_hand`). What a school does otherwise is data (`tabterm.hand.schools`). A roll has its own
direction: towards the higher courses it is a down-stroke, towards the lower ones an up-stroke. A grace note that
is struck, its note slurred from it, takes the stroke of the place.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, islice, pairwise
from typing import TYPE_CHECKING

from tabterm.hand.right_hand import by_parts, course_of, struck_moves, turned
from tabterm.hand.rolls import rolls, rolls_on
from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Direction, Stroke, StrokeSchool
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.place import display_number, lead_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.player import Player
    from tabterm.score.change import Change
    from tabterm.score.model import Event, Score
    from tabterm.score.profile import HandProfile

OF_ROLL = {Direction.UP: Stroke.DOWN, Direction.DOWN: Stroke.UP}
"""A down-stroke goes from the lowest-pitched course to the highest."""

LEAST_GLIDE = 3  #: notes; common practice, no source
"""Notes of a glide: fewer are as well struck one by one."""

StruckEvents = list[tuple[Fraction, "Event"]]
"""Events that take a stroke, in order, each with its offset in the measure."""

Strokes = dict[Fraction, Stroke]
"""Strokes of a measure by offset."""


def with_proposals(score: Score, player: Player, change: Change | None = None) -> Score:
    """The score with `proposed_stroke` and `proposed_tremolo` of every event as the school in force has it.

    With a change, only the measures it put in and those round them that it reaches are looked at, unless it
    touches the head, a metre, a tempo or a school. Measures in which nothing differs stay the same objects,
    and so does the score.
    """
    first, last = 0, len(score.measures)
    if change is not None and change.head_after is None and not _touches_rule(change):
        first = _before_tied(score, change.first)
        last = _behind_next_struck(score, change.first + len(change.inserted))
        while rolls_on(score, first):
            first -= 1
        while rolls_on(score, last):
            last += 1
        first, last = by_parts(score, first, last)
    hand = player.at(score.head).hand
    before = score.measures[first - 1].events[-1] if first else None
    drafts: list[MeasureDraft] = []
    rolled = _rolled(score, first, last)
    for index in range(first, last):
        events = _proposed(score, hand, index, before, rolled.get(index, {}))
        drafts.append(MeasureDraft.of(score.measures[index], events))
        before = drafts[-1].events[-1]
    return commit(score, first, len(drafts), drafts) if drafts else score


def not_applied(score: Score) -> tuple[tuple[int, int, StrokeSchool], ...]:
    """Where a school finds nothing to do and measures go by the beat: the first, the last, and the school.

    A roll is looked for in each measure that strikes notes, glides and long notes in each stretch of their school.
    """
    rolled = _rolled(score, 0, len(score.measures))
    found: list[tuple[int, int, StrokeSchool]] = []
    start = 0
    for name, stretch in groupby(score.schools):
        school, size = SCHOOLS[name], len(list(stretch))
        indices = range(start, start + size)
        start += size
        struck = [index for index in indices if any(event.takes_stroke for event in score.measures[index].events)]
        if school.pattern:
            idle = [index for index in struck if index not in rolled]
        elif school.glides or school.tremolo_from is not None:
            idle = [] if any(_does(score, index) for index in struck) else struck
        else:
            continue
        for _, run in groupby(enumerate(idle), key=lambda each: each[1] - each[0]):
            first, *_, last = [index for _, index in run] * 2
            found.append((first, last, name))
    return tuple(found)


def idle_schools(score: Score, low: int = 0, high: int | None = None) -> list[str]:
    """A line for each place from measure `low` to `high` where a school finds nothing to do."""
    lines = []
    for first, last, name in not_applied(score):
        if last < low or (high is not None and first > high):
            continue
        one, other = display_number(score, first), display_number(score, last)
        where = f"measure {one}" if one == other else f"measures {one}-{other}"
        lines.append(f"{where}: '{name}' needs {SCHOOLS[name].looks_for}; strokes go by the beat")
    return lines


def _does(score: Score, index: int) -> bool:
    """Whether a school of glides or tremolo finds one in a measure."""
    measure = score.measures[index]
    struck = [(offset, event) for offset, event in measure.timed() if event.takes_stroke]
    if SCHOOLS[score.schools[index]].glides:
        return any(True for _ in _glides(struck))
    return any(
        is_tremolo(score, index, number, None) or event.tremolo for number, event in enumerate(measure.events)
    )


def _touches_rule(change: Change) -> bool:
    measures = (*change.removed, *change.inserted)
    return any(measure.metre or measure.tempo or measure.school for measure in measures)


def _before_tied(score: Score, index: int) -> int:
    """Index of the measure before, or of an earlier one from which tied notes last into that."""
    first = max(index - 1, 0)
    while begins_before(score, first):
        first -= 1
    return first


def _behind_next_struck(score: Score, index: int) -> int:
    """Index behind the first measure from `index` on that strikes a note."""
    for number in range(index, len(score.measures)):
        if any(event.takes_stroke for event in score.measures[number].events):
            return number + 1
    return len(score.measures)


def _rolled(score: Score, first: int, last: int) -> dict[int, Strokes]:
    """The strokes of the rolls of some measures, by measure."""
    by_measure: dict[int, Strokes] = {}
    if any(SCHOOLS[school].pattern for school in set(score.schools[first:last])):
        for (index, offset), stroke in rolls(score, first, last).items():
            by_measure.setdefault(index, {})[offset] = stroke
    return by_measure


def _proposed(score: Score, hand: HandProfile, index: int, before: Event | None, rolled: Strokes) -> list[Event]:
    """The events of a measure, each with its proposal, given the event before them with its own."""
    strokes = _strokes(score, hand, index, rolled)
    events: list[Event] = []
    for number, (offset, event) in enumerate(score.measures[index].timed()):
        stroke, tremolo = strokes.get(offset), is_tremolo(score, index, number, before)
        if event.proposed_stroke is stroke and event.proposed_tremolo == tremolo:
            before = event
        else:
            before = event.with_(proposed_stroke=stroke, proposed_tremolo=tremolo)
        events.append(before)
    return events


def _strokes(score: Score, hand: HandProfile, index: int, rolled: Strokes) -> Strokes:
    """The stroke of every struck event of a measure; `rolled` are those of its rolls."""
    school = SCHOOLS[score.schools[index]]
    struck = [(offset, event) for offset, event in score.measures[index].timed() if event.takes_stroke]
    strokes = dict(struck_moves(score, index))
    if school.halves_down or school.accents_down or school.course_change_down:
        strokes = _coming_down(score, hand, index, struck, strokes)
    for run in _glides(struck) if school.glides else ():
        rising = course_of(run[0][1]) > course_of(run[-1][1])
        strokes |= dict.fromkeys((offset for offset, _ in run), Stroke.DOWN if rising else Stroke.UP)
    strokes |= rolled
    return strokes | {offset: OF_ROLL[event.roll] for offset, event in struck if event.roll}


def _coming_down(score: Score, hand: HandProfile, index: int, struck: StruckEvents, moves: Strokes) -> Strokes:
    """The strokes of a school in which more than the beats comes down.

    What is too quick for that alternates, on from the last that has come down.
    """
    school, missing, before = SCHOOLS[score.schools[index]], lead_in(score, index), _course_before(score, index)
    strokes, turns = {}, False
    for offset, event in struck:
        courses = _courses_struck(event)
        *_, last, course = (before, *courses) if event.is_struck else (before, courses[0])
        if (
            (school.course_change_down and last is not None and last != course)
            or (school.accents_down and event.accent)
            or (school.halves_down and _has_time(score, hand, index, offset + missing))
        ):
            strokes[offset], turns = Stroke.DOWN, moves[offset] is Stroke.UP
        else:
            strokes[offset] = turned(moves[offset]) if turns else moves[offset]
        before = courses[-1]
    return strokes


def _has_time(score: Score, hand: HandProfile, index: int, offset: Fraction) -> bool:
    """On a beat, or on a half beat if the hand is back for equal strokes in time; a beat in threes has no half."""
    metre = score.metres[index]
    _, start, size = metre.beat_at(offset)
    units = size * metre.unit / 4
    if offset == start:
        return True
    if offset != start + size / 2 or (units > 1 and units % 2):
        return False
    half_s = float(size / 2) * 60.0 / score.tempos[index].quarters_per_minute
    return half_s * hand.speeds.repeated >= 1.0


def _courses_struck(event: Event) -> list[int]:
    """The courses that an event strikes one after the other: of its grace notes, then its own."""
    graces = [note.course for note in event.grace if note.is_struck]
    return [*graces, course_of(event)] if event.is_struck else graces


def _course_before(score: Score, index: int) -> int | None:
    """The last course that is struck before a measure."""
    for number in range(index - 1, -1, -1):
        for event in reversed(score.measures[number].events):
            if event.takes_stroke:
                return _courses_struck(event)[-1]
    return None


def _glides(struck: StruckEvents) -> Iterator[StruckEvents]:
    """Runs of single notes, one right after the other, on successive courses in one direction."""
    run: StruckEvents = []
    for each in struck:
        if not _joins(run, each):
            if len(run) >= LEAST_GLIDE:
                yield run
                run = []
            run = run[-1:] if _joins(run[-1:], each) else []
        run.append(each)
    if len(run) >= LEAST_GLIDE:
        yield run


def _joins(run: StruckEvents, each: tuple[Fraction, Event]) -> bool:
    """Whether an event goes on a run in its direction, right after its last note; one note has no direction."""
    if not run:
        return False
    (offset, last), (onset, event) = run[-1], each
    plain = all(len(one.notes) == 1 and not one.tremolo for one in (last, event)) and not event.grace
    step = course_of(event) - course_of(last)
    ways = {step, *(course_of(two[1]) - course_of(one[1]) for one, two in pairwise(run[:2]))}
    return plain and offset + last.length == onset and abs(step) == 1 and len(ways) == 1


def is_tremolo(score: Score, index: int, number: int, before: Event | None) -> bool:
    """Whether the school of a measure makes its event of a number a tremolo.

    Args:
        score: The score.
        index: Of the measure.
        number: Of the event in it.
        before: The event before it, with what is proposed for it.
    """
    event, school = score.measures[index].events[number], SCHOOLS[score.schools[index]]
    if school.tremolo_from is None or event.tremolo:
        return False
    if goes_on(event):
        return before is not None and before.tremolo_shown
    if not event.takes_stroke or event.stroke or event.staccato or event.roll:
        return False
    return not all(note.muted for note in event.notes) and _lasting(score, index, number) >= school.tremolo_from


def goes_on(event: Event) -> bool:
    """All of it is tied to the event before."""
    return bool(event.notes) and all(note.tied for note in event.notes)


def begins_before(score: Score, index: int) -> bool:
    """Whether every event of a measure goes on from one before it."""
    return index > 0 and all(goes_on(event) for event in score.measures[index].events)


def _lasting(score: Score, index: int, number: int) -> Fraction:
    """Quarters that an event lasts with all that is tied on to it."""
    length = score.measures[index].events[number].length
    for event in _behind(score, index, number):
        if not goes_on(event):
            break
        length += event.length
    return length


def _behind(score: Score, index: int, number: int) -> Iterator[Event]:
    """The events after one, over the bar lines."""
    yield from score.measures[index].events[number + 1 :]
    for measure in islice(score.measures, index + 1, None):
        yield from measure.events
