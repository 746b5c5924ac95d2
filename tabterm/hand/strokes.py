"""Pick strokes by the school in force, and the commands of the stroke row.

The hand goes down on the beat and up between, whether or not it strikes: a slurred, tied or missing note does
not turn the strokes that follow (N. Gatherer, "Pick direction" 1 and 5, nigelgatherer.com). The grid of a beat
is the coarsest on which its struck notes lie; on a grid of sixteenths the off-beat eighth is a down-stroke
(same rule; teaching practice, no source). Compound beats are counted after Bickford 1920, p. 72. What a school
does otherwise is data (`tabterm.hand.schools`). A roll has its own direction: towards the higher courses it is
a down-stroke, towards the lower ones an up-stroke. A grace note that is struck takes the stroke of the place.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Direction, Stroke
from tabterm.score.operations import map_events, set_stroke
from tabterm.score.operations.draft import Draft, commit
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import event_at

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tabterm.hand.schools import School
    from tabterm.score.change import Change
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Score

DOWN_UP = (Stroke.DOWN, Stroke.UP)
OF_ROLL = {Direction.UP: Stroke.DOWN, Direction.DOWN: Stroke.UP}
"""A down-stroke goes from the lowest-pitched course to the highest."""

LEAST_GLIDE = 3
"""Notes of a glide: fewer are as well struck one by one (common practice, no source)."""

EIGHTH, HALF_BEAT = Fraction(1, 2), Fraction(1, 2)


def with_proposals(score: Score, change: Change | None = None) -> Score:
    """The score with `proposed_stroke` and `proposed_tremolo` of every event as the school in force has it.

    With a change, only the measures it put in and the next that strikes a note are looked at, unless it
    touches the head, a metre or a school. Measures in which nothing differs stay the same objects, and so
    does the score.
    """
    first, last = 0, len(score.measures)
    if change is not None and change.head_after is None and not _touches_rule(change):
        first = change.first
        last = _behind_next_struck(score, change.first + len(change.inserted))
    drafts = [Draft.of(score.measures[index], _proposed(score, index)) for index in range(first, last)]
    return commit(score, first, len(drafts), drafts) if drafts else score


def _touches_rule(change: Change) -> bool:
    return any(measure.metre or measure.school for measure in (*change.removed, *change.inserted))


def _behind_next_struck(score: Score, index: int) -> int:
    """Index behind the first measure from `index` on that strikes a note."""
    for number in range(index, len(score.measures)):
        if any(event.takes_stroke for event in score.measures[number].events):
            return number + 1
    return len(score.measures)


def _proposed(score: Score, index: int) -> list[Event]:
    """The events of a measure, each with its proposal."""
    measure, school = score.measures[index], SCHOOLS[score.schools[index]]
    strokes = _strokes(score, index, school)
    events = []
    for offset, event in measure.timed():
        stroke = strokes.get(offset) if event.takes_stroke else None
        tremolo = _is_long(event, school) and event.takes_stroke and not event.tremolo
        if event.proposed_stroke is stroke and event.proposed_tremolo == tremolo:
            events.append(event)
        else:
            events.append(event.with_(proposed_stroke=stroke, proposed_tremolo=tremolo))
    return events


def _is_long(event: Event, school: School) -> bool:
    return school.tremolo_from is not None and event.length >= school.tremolo_from


def _strokes(score: Score, index: int, school: School) -> dict[Fraction, Stroke]:
    """The stroke of every struck event of a measure, by offset."""
    measure, metre, missing = score.measures[index], score.metres[index], _missing(score, index)
    strokes = dict(_grid(measure, metre, school, missing))
    struck = [(offset, event) for offset, event in measure.timed() if event.takes_stroke]
    if school.halves_down:
        strokes |= {offset: Stroke.DOWN for offset, _ in struck if _on_half_beat(offset + missing, metre)}
    if school.course_change_down:
        before = _struck_before(score, index)
        for offset, event in struck:
            if before is not None and course_of(before) != course_of(event):
                strokes[offset] = Stroke.DOWN
            before = event
    for run in _glides(struck) if school.glides else ():
        falling = course_of(run[0][1]) < course_of(run[-1][1])
        strokes |= dict.fromkeys((offset for offset, _ in run), DOWN_UP[falling])
    for start in _rolls(measure, missing) if school.pattern else ():
        strokes |= {
            offset: stroke for (offset, _), stroke in zip(struck[start : start + 8], school.pattern, strict=True)
        }
    return strokes | {offset: OF_ROLL[event.roll] for offset, event in struck if event.roll}


def course_of(event: Event) -> int:
    """The course that a stroke is aimed at: of a double stop the lowest-pitched, where a down-stroke begins."""
    return event.notes[-1].course


def _on_half_beat(offset: Fraction, metre: Metre) -> bool:
    """On a beat or, in simple time, half way between two."""
    _, start, size = metre.beat_at(offset)
    return offset == start or (not metre.compound and offset == start + size * HALF_BEAT)


def _struck_before(score: Score, index: int) -> Event | None:
    """The last event before a measure that takes a stroke."""
    for number in range(index - 1, -1, -1):
        for event in reversed(score.measures[number].events):
            if event.takes_stroke:
                return event
    return None


Struck = list[tuple[Fraction, "Event"]]


def _glides(struck: Struck) -> Iterator[Struck]:
    """Runs of single notes, one right after the other, on successive courses in one direction."""
    run: Struck = []
    step = 0
    for offset, event in struck:
        near = bool(run) and run[-1][0] + run[-1][1].length == offset and len(event.notes) == 1
        way = course_of(event) - course_of(run[-1][1]) if near else 0
        if near and abs(way) == 1 and (len(run) == 1 or way == step):
            run.append((offset, event))
            step = way
            continue
        if len(run) >= LEAST_GLIDE:
            yield run
            run = []
        turns = near and abs(way) == 1
        run = [*(run[-1:] if turns else ()), *([(offset, event)] if len(event.notes) == 1 else ())]
        step = way if len(run) > 1 else 0
    if len(run) >= LEAST_GLIDE:
        yield run


def _rolls(measure: Measure, missing: Fraction) -> Iterator[int]:
    """Numbers, among the struck events, of those that eight eighths over three courses begin with.

    They fill a measure of eight eighths, or begin on a beat, each note on another course than the one before.
    """
    struck = [(offset, event) for offset, event in measure.timed() if event.takes_stroke]
    number = 0
    while number + 8 <= len(struck):
        eight = struck[number : number + 8]
        courses = [course_of(event) for _, event in eight]
        even = all(event.length == EIGHTH and len(event.notes) == 1 for _, event in eight)
        joined = eight[-1][0] - eight[0][0] == 7 * EIGHTH
        rolls = len(set(courses)) == 3 and all(one != other for one, other in pairwise(courses))
        if even and joined and rolls and (eight[0][0] + missing) % 1 == 0:
            yield number
            number += 8
        else:
            number += 1


def grace_strokes(score: Score, place: Place) -> tuple[Stroke | None, ...]:
    """Strokes of the grace notes of the event at a place; None for a slurred one.

    Where the main note is struck too, they alternate away from its stroke, the last one opposite to it; else
    the first struck one takes the stroke of the place (Bickford 1920, p. 66: struck, then the finger drops).
    """
    found = event_at(score, place)
    if found is None:
        return ()
    event = found[1]
    main = event.stroke_shown
    struck = [number for number, grace in enumerate(event.grace) if not grace.slurred]
    leading = any(not note.slurred and not note.tied for note in event.notes)
    strokes: list[Stroke | None] = [None] * len(event.grace)
    stroke = turned(main) if leading else main
    for number in reversed(struck) if leading else struck:
        strokes[number] = stroke
        stroke = turned(stroke)
    return tuple(strokes)


def silent_strokes(score: Score, index: int) -> tuple[tuple[Fraction, Stroke], ...]:
    """What the moving hand does without striking: the slots of the grid where no struck note begins."""
    measure, school = score.measures[index], SCHOOLS[score.schools[index]]
    struck = {offset for offset, event in measure.timed() if event.takes_stroke}
    grid = _grid(measure, score.metres[index], school, _missing(score, index))
    return tuple((offset, stroke) for offset, stroke in grid if offset not in struck)


def _missing(score: Score, index: int) -> Fraction:
    """What a pickup lacks at its front; other short measures lack their end."""
    measure = score.measures[index]
    return score.metres[index].length - measure.length if measure.short and index == 0 else Fraction(0)


def _grid(
    measure: Measure, metre: Metre, school: School, missing: Fraction
) -> tuple[tuple[Fraction, Stroke], ...]:
    """Every slot of the hand's movement in a measure: offset, and direction."""
    struck = tuple(offset + missing for offset, event in measure.timed() if event.takes_stroke)
    return _movement(struck, measure.length, metre, missing, restarts=school.restarts)


@lru_cache(maxsize=4096)
def _movement(
    struck: tuple[Fraction, ...], length: Fraction, metre: Metre, missing: Fraction, *, restarts: bool
) -> tuple[tuple[Fraction, Stroke], ...]:
    """The slots for struck notes at offsets of a whole measure; remembered, for rhythms come again and again."""
    beats = (*metre.beats, metre.length)
    movement: list[tuple[Fraction, Stroke]] = []
    count = 0
    for start, end in pairwise(beats):
        inside = [offset - start for offset in struck if start <= offset < end]
        slots = _slots(inside, end - start, metre)
        for number, slot in enumerate(slots):
            turn = number if restarts else count + number
            offset = start + slot - missing
            if 0 <= offset < length:
                movement.append((offset, DOWN_UP[turn % 2]))
        count += len(slots)
    return tuple(movement)


def _slots(inside: list[Fraction], size: Fraction, metre: Metre) -> list[Fraction]:
    """Places of the hand's movements in a beat: the coarsest even division on which the struck notes lie.

    Where none up to 64 parts fits, the hand moves with the notes themselves.
    """
    units = size / Fraction(4, metre.unit)
    base = int(units) if metre.unit >= 8 and units > 1 else 2
    for power in (1, 2, 4, 8, 16):
        for parts in (base * power, 3 * power, 2 * power, 5 * power, 7 * power):
            if all((offset * parts / size).denominator == 1 for offset in inside):
                return [size * number / parts for number in range(parts)]
    return sorted({Fraction(0), *inside})


# The commands of the stroke row


def turned(stroke: Stroke | None) -> Stroke:
    """The other direction; a missing stroke becomes a down-stroke."""
    return Stroke.UP if stroke is Stroke.DOWN else Stroke.DOWN


def turn(score: Score, place: Place) -> Score:
    """Turn the stroke of the event at a place round; raises ScoreError where it takes none."""
    onset, event = _striking(score, place)
    return set_stroke(score, onset, turned(event.stroke_shown))


def alternate_from(score: Score, place: Place) -> Score:
    """Set strict alternation from the event at a place to the end of its measure.

    It starts with the stroke shown there; raises ScoreError where the event takes none.
    """
    onset, event = _striking(score, place)
    stroke = turned(turned(event.stroke_shown)) if event.stroke_shown else Stroke.DOWN
    following = [stroke]

    def change(_place: Place, each: Event) -> Event:
        if not each.takes_stroke:
            return each
        chosen, following[0] = following[0], turned(following[0])
        return each.with_(stroke=chosen)

    return map_events(score, Span(onset, Place(onset.measure + 1)), change)


def turn_all(score: Score, span: Span) -> Score:
    """Turn every stroke of a span round."""
    return _each(score, span, lambda event: event.with_(stroke=turned(event.stroke_shown)))


def to_proposal(score: Score, span: Span) -> Score:
    """Give every stroke of a span back to the proposal."""
    return map_events(score, span, lambda _, event: event.with_(stroke=None) if event.stroke else event)


def accept(score: Score, span: Span) -> Score:
    """Make the proposals of a span the player's own; set strokes stay."""
    return _each(score, span, lambda event: event.with_(stroke=event.stroke_shown))


def _each(score: Score, span: Span, change: Callable[[Event], Event]) -> Score:
    return map_events(score, span, lambda _, event: change(event) if event.takes_stroke else event)


def _striking(score: Score, place: Place) -> tuple[Place, Event]:
    found = event_at(score, place)
    if found is None or not found[1].takes_stroke:
        where = describe(score, place) if place.measure < len(score.measures) else ""
        raise ScoreError("nothing is struck here", place=where, hint="slurred and tied notes take no stroke")
    return found
