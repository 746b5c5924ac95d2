"""Strokes of grace notes.

A grace note that is struck, its note slurred from it, takes the stroke of the place and the note none
(Bickford 1920, p. 66: struck, then the finger drops). Where both are struck the school says how.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.right_hand import course_of, sweeps, turned
from tabterm.hand.schools import SCHOOLS, Graces
from tabterm.score.kinds import Stroke
from tabterm.score.query import event_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.model import Score
    from tabterm.score.place import Place

ONE_WAY: dict[Graces, Callable[[int, int, Stroke], bool]] = {
    Graces.OPPOSITE: lambda _grace, _course, _stroke: False,
    Graces.CONTINUED: sweeps,
    Graces.NEW_COURSE: lambda grace, course, _stroke: grace != course,
}
"""Whether a grace note has the same stroke as what follows it: its course, and course and stroke of that."""


def grace_strokes(score: Score, place: Place) -> tuple[Stroke | None, ...]:
    """Strokes of the grace notes of the event at a place; None for a slurred one.

    Where the note is struck too they are counted back from its stroke; else the first struck one takes the
    stroke of the place and they are counted on.
    """
    found = event_at(score, place)
    if found is None or not found[1].takes_stroke:
        return ()
    onset, event = found
    own = event.stroke if event.stroke is not Stroke.NONE else None
    stroke = own or event.proposed_stroke or Stroke.DOWN
    strokes: list[Stroke | None] = [None] * len(event.grace)
    numbers = [number for number, grace in enumerate(event.grace) if grace.is_struck]
    one_way = ONE_WAY[SCHOOLS[score.schools[onset.measure]].graces]
    course = course_of(event)
    if event.is_struck:
        for number in reversed(numbers):
            grace = event.grace[number].course
            stroke = stroke if one_way(grace, course, stroke) else turned(stroke)
            strokes[number], course = stroke, grace
        return tuple(strokes)
    for number in numbers:
        grace = event.grace[number].course
        if number != numbers[0] and not one_way(course, grace, stroke):
            stroke = turned(stroke)
        strokes[number], course = stroke, grace
    return tuple(strokes)
