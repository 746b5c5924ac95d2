"""Pick strokes by the grid rule, and the commands of the stroke row.

The hand goes down on the beat and up between, whether or not it strikes: a slurred, tied or missing note does
not turn the strokes that follow (N. Gatherer, "Pick direction" 1 and 5, nigelgatherer.com). The grid of a beat
is the coarsest on which its struck notes lie; on a grid of sixteenths the off-beat eighth is a down-stroke
(same rule; teaching practice, no source). In compound metres and triplets two schools exist (Gatherer, "Pick
direction" 9): each beat starts anew (down up down), or strokes alternate strictly. Compound beats are counted
after Bickford 1920, p. 72.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.operations import map_events, set_stroke
from tabterm.score.operations.draft import Draft, commit
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import event_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.change import Change
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Score

DOWN_UP = (Stroke.DOWN, Stroke.UP)


def with_proposals(score: Score, change: Change | None = None) -> Score:
    """The score with `proposed_stroke` of every event as the grid rule has it.

    With a change, only the measures it put in are looked at, unless it touches the head or a metre. Measures
    in which nothing differs stay the same objects, and so does the score.
    """
    first, last = 0, len(score.measures)
    if change is not None and change.head_after is None and not _touches_metre(change):
        first, last = change.first, change.first + len(change.inserted)
    drafts = [Draft.of(score.measures[index], _proposed(score, index)) for index in range(first, last)]
    return commit(score, first, len(drafts), drafts) if drafts else score


def _touches_metre(change: Change) -> bool:
    return any(measure.metre for measure in (*change.removed, *change.inserted))


def _proposed(score: Score, index: int) -> list[Event]:
    """The events of a measure, each with its proposal."""
    measure = score.measures[index]
    grid = dict(_grid(measure, score.metres[index], score.head.school, _missing(score, index)))
    events = []
    for offset, event in measure.timed():
        stroke = grid.get(offset) if event.takes_stroke else None
        events.append(event if event.proposed_stroke is stroke else event.with_(proposed_stroke=stroke))
    return events


def silent_strokes(score: Score, index: int) -> tuple[tuple[Fraction, Stroke], ...]:
    """What the moving hand does without striking: the slots of the grid where no struck note begins."""
    measure = score.measures[index]
    struck = {offset for offset, event in measure.timed() if event.takes_stroke}
    grid = _grid(measure, score.metres[index], score.head.school, _missing(score, index))
    return tuple((offset, stroke) for offset, stroke in grid if offset not in struck)


def _missing(score: Score, index: int) -> Fraction:
    """What a pickup lacks at its front; other short measures lack their end."""
    measure = score.measures[index]
    return score.metres[index].length - measure.length if measure.short and index == 0 else Fraction(0)


def _grid(
    measure: Measure, metre: Metre, school: StrokeSchool, missing: Fraction
) -> tuple[tuple[Fraction, Stroke], ...]:
    """Every slot of the hand's movement in a measure: offset, and direction."""
    struck = tuple(offset + missing for offset, event in measure.timed() if event.takes_stroke)
    return _movement(struck, measure.length, metre, school, missing)


@lru_cache(maxsize=4096)
def _movement(
    struck: tuple[Fraction, ...], length: Fraction, metre: Metre, school: StrokeSchool, missing: Fraction
) -> tuple[tuple[Fraction, Stroke], ...]:
    """The slots for struck notes at offsets of a whole measure; remembered, for rhythms come again and again."""
    beats = (*metre.beats, metre.length)
    movement: list[tuple[Fraction, Stroke]] = []
    count = 0
    for start, end in pairwise(beats):
        inside = [offset - start for offset in struck if start <= offset < end]
        slots = _slots(inside, end - start, metre)
        for number, slot in enumerate(slots):
            turn = number if school is StrokeSchool.BEAT else count + number
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
