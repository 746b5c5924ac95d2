"""Time signatures, their beats and groups."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.score.metre import Metre


@pytest.mark.parametrize(
    ("word", "length", "beats", "compound"),
    [
        ("4/4", 4, "0 1 2 3", False),
        ("C", 4, "0 1 2 3", False),
        ("C|", 4, "0 2", False),
        ("2/4", 2, "0 1", False),
        ("3/4", 3, "0 1 2", False),
        ("5/4", 5, "0 1 2 3 4", False),
        # Beats of three eighths: Bickford 1920, p. 72.
        ("6/8", 3, "0 3/2", True),
        ("9/8", "9/2", "0 3/2 3", True),
        ("12/8", 6, "0 3/2 3 9/2", True),
        ("3/8", "3/2", "0", False),
        ("5/8", "5/2", "0 1", False),
        ("7/8", "7/2", "0 1 2", False),
        ("7/8(3+2+2)", "7/2", "0 3/2 5/2", False),
        ("3/2", 6, "0 2 4", False),
    ],
)
def test_text_length_and_beats(word, length, beats, compound):
    metre = Metre.parse(word)
    assert str(metre) == word
    assert metre.length == Fraction(length)
    assert " ".join(map(str, metre.beats)) == beats
    assert metre.compound is compound
    assert Metre.parse(word) is metre


def test_the_beat_a_moment_lies_in():
    assert Metre.parse("6/8").beat_at(Fraction(2)) == (1, Fraction(3, 2), Fraction(3, 2))
    assert Metre.parse("7/8").beat_at(Fraction(3)) == (2, Fraction(2), Fraction(3, 2))
    assert Metre.parse("4/4").beat_at(Fraction(9)) == (3, Fraction(3), Fraction(1))


@pytest.mark.parametrize("word", ["", "4", "0/4", "4/3", "4/4(2)x", "c", "100/4", "7/8(0+7)"])
def test_what_is_no_time_signature(word):
    with pytest.raises(ScoreError, match="not a time signature"):
        Metre.parse(word)


def test_groups_add_up():
    with pytest.raises(ScoreError, match="do not add up to 7"):
        Metre.parse("7/8(3+3)")
