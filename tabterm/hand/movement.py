"""The moving hand: where it goes down and up in each beat, whether or not it strikes.

The hand goes down on the beat and up between (N. Gatherer, "Pick direction" 1, nigelgatherer.com). The slots of
a beat are the coarsest on which its struck notes lie; among sixteenths the off-beat eighth is a down-stroke
(same rule; teaching practice, no source). Compound beats are counted after Bickford 1920, p. 72.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Stroke
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score

DOWN_UP = (Stroke.DOWN, Stroke.UP)

Movement = tuple[tuple[Fraction, Stroke], ...]
"""Slots in order: offset in quarters from the measure's start, and direction."""


def movement(score: Score, index: int) -> Movement:
    """Every slot of the hand's movement in a measure, by the school in force there."""
    measure, missing = score.measures[index], lead_in(score, index)
    struck = tuple(offset + missing for offset, event in measure.timed() if event.takes_stroke)
    restarts = SCHOOLS[score.schools[index]].restarts
    return _movement(struck, measure.length, score.metres[index], missing, restarts=restarts)


def silent_strokes(score: Score, index: int) -> Movement:
    """What the moving hand does without striking: the slots where no struck note begins."""
    struck = {offset for offset, event in score.measures[index].timed() if event.takes_stroke}
    return tuple((offset, stroke) for offset, stroke in movement(score, index) if offset not in struck)


@lru_cache(maxsize=4096)
def _movement(
    struck: tuple[Fraction, ...], length: Fraction, metre: Metre, missing: Fraction, *, restarts: bool
) -> Movement:
    """The slots for struck notes at offsets of a whole measure; remembered, for rhythms come again and again."""
    beats = (*metre.beats, metre.length)
    slots_of_all: list[tuple[Fraction, Stroke]] = []
    count = 0
    for start, end in pairwise(beats):
        inside = [offset - start for offset in struck if start <= offset < end]
        slots = _slots(inside, end - start, metre)
        for number, slot in enumerate(slots):
            turn = number if restarts else count + number
            offset = start + slot - missing
            if 0 <= offset < length:
                slots_of_all.append((offset, DOWN_UP[turn % 2]))
        count += len(slots)
    return tuple(slots_of_all)


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
