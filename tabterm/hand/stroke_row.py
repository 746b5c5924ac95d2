"""What is done on the stroke row: strokes turned, alternated, accepted, or given back to the proposal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.hand.right_hand import turned
from tabterm.score.kinds import Stroke
from tabterm.score.operations import map_events, set_stroke
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import event_at, next_event

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.model import Event, Score


def turn(score: Score, place: Place) -> Score:
    """Turn the stroke of the event at a place round; raises ScoreError where it takes none."""
    onset, event = struck_from(score, place)
    return set_stroke(score, onset, turned(event.stroke_shown))


def alternate_from(score: Score, place: Place) -> Score:
    """Set strict alternation from the event at a place to the end of its measure.

    It starts with the stroke shown there; raises ScoreError where the event takes none.
    """
    onset, event = struck_from(score, place)
    following = [Stroke.UP if event.stroke_shown is Stroke.UP else Stroke.DOWN]

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
    """Make the proposals of a span, strokes and tremolos, the player's own; set strokes stay."""
    return map_events(score, span, lambda _, event: _accepted(event))


def _accepted(event: Event) -> Event:
    if (event.stroke_shown, event.tremolo_shown) == (event.stroke, event.tremolo):
        return event
    return event.with_(stroke=event.stroke_shown, tremolo=event.tremolo_shown)


def _each(score: Score, span: Span, change: Callable[[Event], Event]) -> Score:
    return map_events(score, span, lambda _, event: change(event) if event.takes_stroke else event)


def struck_from(score: Score, place: Place) -> tuple[Place, Event]:
    """The event at a place or, where that is slurred or tied, the next that is struck; raises ScoreError."""
    found = event_at(score, place)
    while found is not None and found[1].notes and not found[1].takes_stroke:
        found = next_event(score, found[0])
    if found is None or not found[1].takes_stroke:
        where = describe(score, place) if place.measure < len(score.measures) else ""
        raise ScoreError("no picked note here", place=where, hint="move to a note; rests have no stroke")
    return found
