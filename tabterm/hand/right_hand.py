"""What two strokes in a row ask of the right hand: changes of course, the way back, strokes per second.

An outside change is one whose two strokes come from outside the pair of courses (rising: down on the lower one,
then up on the higher); inside, the pick works between them. That the inside is harder: from memory, no
published error rates were found; the points are tuned here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import Stroke

if TYPE_CHECKING:
    from tabterm.score.model import Event
    from tabterm.score.profile import Speeds

#: points; tuned here; that the inside is harder: from memory
OUTSIDE, INSIDE, EITHER, BEYOND = 0.5, 1.0, 0.75, 0.5
"""Points for a change to the next course from outside, from inside, not known which, and a course further."""


def turned(stroke: Stroke | None) -> Stroke:
    """The other direction; a missing stroke becomes a down-stroke."""
    return Stroke.UP if stroke is Stroke.DOWN else Stroke.DOWN


def course_of(event: Event, stroke: Stroke | None = Stroke.DOWN) -> int:
    """The course on which a stroke begins: a down-stroke on the lowest-pitched that it strikes, else the highest.

    Where a grace note alone is struck, its course.
    """
    struck = [note.course for note in event.notes if note.is_struck]
    if struck:
        return struck[0] if stroke is Stroke.UP else struck[-1]
    return next((note.course for note in event.grace if note.is_struck), event.notes[-1].course)


def leaves(event: Event, stroke: Stroke | None) -> int:
    """The course on which a stroke ends: of a double stop the other one than `course_of`."""
    return course_of(event, Stroke.DOWN if stroke is Stroke.UP else Stroke.UP)


def course_change(before: int, before_stroke: Stroke | None, course: int, stroke: Stroke | None) -> float:
    """Points for going from one course to another (1 = highest) with these strokes; 0 on one course."""
    if before == course:
        return 0.0
    beyond = BEYOND * (abs(course - before) - 1)
    if before_stroke is None or stroke is None or before_stroke is stroke:
        return EITHER + beyond
    rising = course < before
    return (OUTSIDE if (before_stroke is Stroke.DOWN) == rising else INSIDE) + beyond


def sweeps(before: int, course: int, stroke: Stroke) -> bool:
    """Whether a second stroke in one direction only goes on over the next course, without coming back."""
    return course - before == (-1 if stroke is Stroke.DOWN else 1)


def speed_between(before: tuple[int, Stroke | None], after: tuple[int, Stroke | None]) -> str | None:
    """The speed of the profile that two (course, stroke) in a row use, by its name; None for a sweep."""
    (one, first), (other, second) = before, after
    if first is not None and first is second:
        return None if sweeps(one, other, first) else "repeated"
    return "strokes" if one == other else "course_change"


def rate_limit(speeds: Speeds, before: tuple[int, Stroke | None], after: tuple[int, Stroke | None]) -> float:
    """Strokes per second that a player does between two (course, stroke); infinite for a sweep."""
    name = speed_between(before, after)
    return float("inf") if name is None else float(getattr(speeds, name))


def strain(
    speeds: Speeds, before: tuple[int, Stroke | None], after: tuple[int, Stroke | None], gap_s: float
) -> float:
    """The rate of two strokes over what the player does: 1 at the limit."""
    return 1.0 / (max(gap_s, 1e-3) * rate_limit(speeds, before, after))
