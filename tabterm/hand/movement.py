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
    from collections.abc import Mapping

    from tabterm.score.metre import Metre
    from tabterm.score.model import Score

DOWN_UP = (Stroke.DOWN, Stroke.UP)

Movement = tuple[tuple[Fraction, Stroke], ...]
"""Slots in order: offset in quarters from the measure's start, and direction."""


def movement(score: Score, index: int) -> Movement:
    """Every slot of the hand's movement in a measure, by the school in force there."""
    return _movement(*_asked(score, index))


def struck_moves(score: Score, index: int) -> Mapping[Fraction, Stroke]:
    """Where the hand goes at each event of a measure that takes a stroke, by its offset."""
    return _struck_moves(*_asked(score, index))


def _asked(score: Score, index: int) -> tuple[tuple[Fraction, ...], Fraction, Metre, Fraction, bool]:
    """What the movement in a measure hangs on: where it strikes, its length, metre, what it lacks, the school."""
    measure, missing = score.measures[index], lead_in(score, index)
    struck = tuple([offset for offset, event in measure.timed() if event.takes_stroke])
    return struck, measure.length, score.metres[index], missing, SCHOOLS[score.schools[index]].restarts


def silent_strokes(score: Score, index: int) -> Movement:
    """What the moving hand does without striking: the slots where no struck note begins."""
    struck = {offset for offset, event in score.measures[index].timed() if event.takes_stroke}
    return tuple((offset, stroke) for offset, stroke in movement(score, index) if offset not in struck)


@lru_cache(maxsize=4096)
def _struck_moves(
    struck: tuple[Fraction, ...], length: Fraction, metre: Metre, missing: Fraction, restarts: bool
) -> Mapping[Fraction, Stroke]:
    moves = dict(_movement(struck, length, metre, missing, restarts))
    return {offset: moves[offset] for offset in struck}


@lru_cache(maxsize=4096)
def _movement(
    struck: tuple[Fraction, ...], length: Fraction, metre: Metre, missing: Fraction, restarts: bool
) -> Movement:
    """The slots for notes struck at some offsets; remembered, for rhythms come again and again."""
    beats = (*metre.beats, metre.length)
    slots_of_all: list[tuple[Fraction, Stroke]] = []
    count = 0
    for start, end in pairwise(beats):
        inside = [offset + missing - start for offset in struck if start <= offset + missing < end]
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
