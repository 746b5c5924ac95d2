"""Measures put in and taken out, and the pickup."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.key import Key
from tabterm.score.metre import Metre
from tests.build import music, place, text

TWO = music("1 2.3 | 2 (2.3, 2 2.5")


def test_measures_of_rest_come_in_the_metre_before_them():
    assert text(do.insert_measures(TWO, 1, 2)) == "1 2.3 | 1 | 1 | 2 2.3, 2 2.5"
    assert text(do.insert_measures(TWO, 2)) == "1 2.3 | 2 (2.3, 2 2.5 | 1"
    waltz_behind = do.set_metre(TWO, 1, Metre.parse("3/4"))
    assert text(do.insert_measures(waltz_behind, 1)) == "1 2.3 | 1 | 2 2.3, 4 2.5 | 4 (2.5, 2"


def test_measures_are_taken_out_and_the_tie_over_the_gap_is_struck():
    three = do.insert_measures(TWO, 0)
    assert text(do.delete_measures(three, 0, 1)) == "2 2.3, 2 2.5"
    assert text(do.delete_measures(three, 2, 2)) == "1 | 1 2.3"


def test_the_last_measure_becomes_a_rest():
    assert text(do.delete_measures(TWO, 0, 1)) == "1"
    empty = music("1")
    assert do.delete_measures(empty, 0, 0) is empty


def test_what_a_removed_measure_set_goes_on():
    score = music("1 | 1 | 1 | 1")
    score = do.set_key(do.set_metre(score, 1, Metre.parse("2/4")), 2, Key.parse("D"))
    after = do.delete_measures(score, 1, 2)
    assert str(after.measures[1].metre) == "2/4"
    assert str(after.measures[1].key) == "D"
    before = len(score.measures)
    assert len(after.measures) == before - 2


def test_a_change_that_is_none_after_a_deletion_is_not_written():
    score = do.set_key(do.set_key(music("1 | 1 | 1"), 1, Key.parse("D")), 2, Key.parse("C"))
    assert do.delete_measures(score, 1, 1).measures[1].key is None


@pytest.mark.parametrize(
    ("before", "length", "after"),
    [
        pytest.param("2., 4 2.3 | 1", Fraction(1), "< 4 2.3 | 1", id="a silent front goes"),
        pytest.param("1 2.3 | 1", Fraction(3, 2), "< 8, 4 | 1 2.3 | 1", id="music moves behind a new pickup"),
        pytest.param("< 4 2.3 | 1", Fraction(5, 2), "< 8, 4, 4 2.3 | 1", id="longer by rests in front"),
        pytest.param("< 4 2.3, 4 2.5 | 1", Fraction(1), "< 4 2.5 | 1", id="shorter by its front"),
        pytest.param("< 4 2.3 | 1", None, "2., 4 2.3 | 1", id="whole again"),
        pytest.param("2., 4 2.3 | 1 (2.3", Fraction(1), "< 4 2.3 | 1 (2.3", id="a tie out of it stays"),
    ],
)
def test_a_pickup(before, length, after):
    assert text(do.set_pickup(music(before), length)) == after


def test_a_pickup_that_is_there_is_no_change():
    score = music("< 4 2.3 | 1")
    assert do.set_pickup(score, Fraction(1)) is score


def test_chord_symbols_stay_over_their_notes_when_a_pickup_is_cut():
    score = do.set_chord(music("2., 4 2.3"), place(1, 3), "D7")
    after = do.set_pickup(score, Fraction(1))
    assert [(mark.offset, mark.symbol) for mark in after.measures[0].chords] == [(0, "D7")]
    assert do.set_pickup(after, None) == score


@pytest.mark.parametrize("length", [Fraction(0), Fraction(4), Fraction(-1)])
def test_a_pickup_is_shorter_than_a_measure(length):
    with pytest.raises(ScoreError, match="does not fit"):
        do.set_pickup(TWO, length)
