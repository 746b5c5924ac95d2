"""Stretches of time as note values."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.score.duration import Duration
from tabterm.score.metre import Metre
from tabterm.score.operations.spelling import spell
from tests.strategies import METRES


def words(offset, length, metre):
    return " ".join(map(str, spell(Fraction(offset), Fraction(length), Metre.parse(metre))))


@pytest.mark.parametrize(
    ("metre", "whole", "off_beat"),
    [
        ("4/4", "1", "8 2."),
        ("3/4", "2.", "8 2"),
        ("2/4", "2", "8 4"),
        ("6/8", "2.", "4 4."),
        ("9/8", "2. 4.", "4 2."),
        ("12/8", "1.", "4 2. 4."),
        ("7/8", "2 4.", "8 4 4."),
        ("7/8(3+2+2)", "4. 2", "4 2"),
        ("5/8", "4 4.", "8 4."),
        ("C|", "1", "4. 2"),
    ],
)
def test_whole_measures_and_all_but_their_first_eighth(metre, whole, off_beat):
    length = Metre.parse(metre).length
    assert words(0, length, metre) == whole
    assert words("1/2", length - Fraction(1, 2), metre) == off_beat


@pytest.mark.parametrize(
    ("offset", "length", "metre", "expected"),
    [
        pytest.param(0, "3/2", "4/4", "4.", id="a beat and a half from a beat"),
        pytest.param("1/2", "1", "4/4", "8 8", id="over the beat"),
        pytest.param("1/4", "1/2", "4/4", "8", id="inside the beat"),
        pytest.param("3/8", "5/8", "4/4", "32 8", id="short values lead up to the beat"),
        pytest.param(1, "5/8", "4/4", "8 32", id="and follow it"),
        pytest.param(0, 2, "6/8", "4. 8", id="four eighths show the beat of 6/8"),
        pytest.param("1/3", "2/3", "4/4", "4(3:2)", id="the rest of a triplet"),
        pytest.param("1/3", "11/3", "4/4", "4(3:2) 2.", id="then plain values"),
        pytest.param(0, "10/3", "4/4", "2. 8(3:2)", id="plain values up to the last beat"),
        pytest.param("1/5", "4/5", "4/4", "4(5:4)", id="the rest of a quintuplet"),
        pytest.param("1/3", "1/15", "4/4", "32(15:8)", id="where two tuplets meet"),
    ],
)
def test_stretches(offset, length, metre, expected):
    assert words(offset, length, metre) == expected


@given(
    st.sampled_from(METRES),
    st.fractions(0, 3, max_denominator=48),
    st.fractions(Fraction(1, 48), 4, max_denominator=48),
)
def test_the_values_always_add_up_and_can_be_read_back(metre, offset, length):
    values = spell(offset, length, metre)
    assert sum(value.length for value in values) == length
    assert all(Duration.parse(str(value)) == value for value in values)


def test_what_no_value_can_show():
    with pytest.raises(ScoreError, match="too short to write"):
        spell(Fraction(0), Fraction(1, 10007), Metre.parse("4/4"))
