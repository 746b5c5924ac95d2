"""Swing: exact, and never at the cost of a beat."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.performance import perform
from tabterm.performance.timing import swung_offset
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.model import Swing
from tabterm.score.tempo import Tempo
from tests.build import score
from tests.strategies import METRES

EIGHTHS, SIXTEENTHS = Swing(unit=8, long=2, short=1), Swing(unit=16, long=3, short=1)


@pytest.mark.parametrize(
    ("swing", "straight", "swung"),
    [
        (EIGHTHS, "1/2", "2/3"),
        (EIGHTHS, "1/4", "1/3"),
        (EIGHTHS, "3/4", "5/6"),
        (EIGHTHS, "3/2", "5/3"),
        (EIGHTHS, "2", "2"),
        (SIXTEENTHS, "1/4", "3/8"),
        (SIXTEENTHS, "1/2", "1/2"),
    ],
)
def test_offsets_in_common_time(swing, straight, swung):
    assert swung_offset(Fraction(straight), COMMON_TIME, swing) == Fraction(swung)


def test_triplet_eighths_fall_together_with_swung_ones():
    """The second of a swung pair of 2:1 is the third of a triplet (the definition of triplet swing)."""
    assert swung_offset(Fraction(1, 2), COMMON_TIME, EIGHTHS) == Fraction(2, 3)


@pytest.mark.parametrize("metre", ["6/8", "9/8", "12/8", "3/8"])
def test_beats_of_three_stay_straight(metre):
    parsed = Metre.parse(metre)
    assert all(swung_offset(Fraction(n, 2), parsed, EIGHTHS) == Fraction(n, 2) for n in range(parsed.count))


def test_only_the_pairs_of_an_odd_metre_swing():
    metre = Metre.parse("7/8(3+2+2)")
    assert [swung_offset(Fraction(n, 2), metre, EIGHTHS) for n in range(7)] == [
        0, Fraction(1, 2), 1, Fraction(3, 2), Fraction(13, 6), Fraction(5, 2), Fraction(19, 6),
    ]  # fmt: skip


@given(st.sampled_from(METRES), st.builds(Swing, unit=st.sampled_from([8, 16]), long=st.integers(1, 9)))
def test_beats_and_measures_keep_their_length(metre, swing):
    for beat in (*metre.beats, metre.length):
        assert swung_offset(beat, metre, swing) == beat
    grid = [Fraction(n, 16) for n in range(int(metre.length * 16) + 1)]
    assert all(a < b for a, b in pairwise(swung_offset(offset, metre, swing) for offset in grid))


def test_a_swung_odd_measure_lasts_as_long_as_a_straight_one():
    line = ["8 1.0,8 1.0,8 1.0,8 1.0,8 1.0,8 1.0,8 1.0"] * 2
    tempo = Tempo(60.0)
    assert perform(score(*line, metre="7/8", swing=EIGHTHS, tempo=tempo)).duration_s == 7
