"""How far onsets are from a grid, and from what chance would make of them."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from tabterm.formats.smf.bars import beats_of
from tabterm.formats.smf.grid import USUAL, Grid, fit
from tabterm.formats.smf.reader import BY_CHANCE
from tabterm.score.metre import Metre

BEATS = beats_of([(Fraction(0), Metre.parse("4/4"))], Fraction(0))
SEEDS = range(8)


def of_chance(onsets):
    """What onsets are moved by, as a part of what onsets at random would be."""
    fitted = fit(onsets, BEATS, Grid.parse(USUAL))
    return fitted.moved / fitted.chance


@pytest.mark.parametrize("seed", SEEDS)
def test_the_border_lies_between_onsets_at_random_and_a_hand(seed):
    """400 onsets in 200 quarters: spread evenly, and eighths by a hand that is 0.05 quarters off."""
    chance = random.Random(seed)
    assert 0.54 < of_chance([chance.uniform(0, 200) for _ in range(400)]) < 0.64
    assert 0.27 < of_chance([max(number / 2 + chance.gauss(0, 0.05), 0) for number in range(400)]) < 0.34
    assert 0.34 < BY_CHANCE < 0.54
