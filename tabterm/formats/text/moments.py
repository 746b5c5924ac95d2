"""The notes of a segment by the moments at which they begin."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.formats.text.spacing import Layout
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.text.cells import Cell
    from tabterm.formats.text.measures import Segment
    from tabterm.score.duration import Duration


@dataclass(slots=True)
class Moment:
    """The notes that begin at one character of a segment, and their duration where it is known."""

    x: int
    cells: list[Cell]
    duration: Duration | None = None


def moments_of(segment: Segment) -> list[Moment]:
    """From left to right; notes on one course never begin together."""
    moments: list[Moment] = []
    for cell in sorted(segment.cells, key=lambda each: each.fret_x):
        taken = moments and any(other.note.course == cell.note.course for other in moments[-1].cells)
        if moments and cell.fret_x - moments[-1].x <= 1 and not taken:
            moments[-1].cells.append(cell)
        else:
            moments.append(Moment(cell.fret_x, [cell]))
    return moments


def layout_of(segment: Segment, moments: Sequence[Moment]) -> Layout:
    """Where the moments stand, and what may have moved what follows: signs, second digits, tight slurs."""
    before = [max(cell.signs[0] for cell in moment.cells) for moment in moments]
    behind = [max(cell.signs[1] for cell in moment.cells) for moment in moments]
    tight = 0
    for number, (left, right) in enumerate(pairwise(moments)):
        gap = right.x - left.x
        slurred = any(cell.note.reached is not Reached.STRUCK for cell in right.cells)
        close = slurred and gap == 1 + behind[number] + before[number + 1]
        behind[number] += tight
        tight = tight + gap if close else 0
    xs = tuple(moment.x for moment in moments)
    return Layout(xs, tuple(before), tuple(behind[:-1]), segment.width)
