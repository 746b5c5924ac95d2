"""What a pick does between two strokes: how hard a change of course is."""

from __future__ import annotations

from tabterm.score.kinds import Stroke


def course_change(before: int, before_stroke: Stroke | None, course: int, stroke: Stroke | None) -> float:
    """Points for going from one course to another (1 = highest): inside 1, outside 0.5, 0.5 a course beyond."""
    if before == course:
        return 0.0
    far = 0.5 * (abs(course - before) - 1)
    if before_stroke is None or stroke is None or before_stroke is stroke:
        return 0.75 + far
    rising = course < before
    outside = (before_stroke is Stroke.DOWN) == rising
    return (0.5 if outside else 1.0) + far
