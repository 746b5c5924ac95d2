"""The rules: each is a function from a moment to the findings there, one module a family."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.rules.articulation import far_bends, hammer_ons, open_bends, pull_offs, slides, slurs_across
from tabterm.hand.rules.fingers import (
    fast_slurs,
    lone_fingers,
    shifts,
    switches,
    unprepared,
)
from tabterm.hand.rules.reach import (
    beyond_the_neck,
    fingers_doubled,
    reach_next,
    reach_together,
    too_few_fingers,
    two_frets_one_course,
)
from tabterm.hand.rules.strokes import against_the_grid, against_the_roll, strokes_on_slurs, too_fast

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tabterm.hand.finding import Finding, Situation

RULES: tuple[Callable[[Situation], Iterable[Finding]], ...] = (
    beyond_the_neck,
    two_frets_one_course,
    reach_together,
    reach_next,
    fingers_doubled,
    too_few_fingers,
    hammer_ons,
    pull_offs,
    slides,
    slurs_across,
    open_bends,
    far_bends,
    strokes_on_slurs,
    against_the_grid,
    against_the_roll,
    too_fast,
    shifts,
    lone_fingers,
    switches,
    fast_slurs,
    unprepared,
)
