"""Places in words, and spans."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.score.place import Place, Span, describe, display_number, lead_in, measure_index
from tests.build import measure, music, place, score


@pytest.mark.parametrize(
    ("metre", "line", "offset", "count"),
    [
        ("4/4", "1", 0, "1"),
        ("4/4", "1", "5/4", "2e"),
        ("4/4", "1", "3/2", "2&"),
        ("4/4", "1", "15/4", "4a"),
        ("4/4", "1", "4/3", "2+1/3"),
        ("C|", "1", 2, "2"),
        ("C|", "1", 3, "2&"),
        ("6/8", "2.", "3/2", "4"),
        ("6/8", "2.", "7/4", "4&"),
        ("7/8", "2, 4.", "2", "5"),
    ],
)
def test_moments_are_counted_as_players_count(metre, line, offset, count):
    assert describe(music(line, metre), place(1, offset)) == f"measure 1, beat {count}"


def test_a_pickup_is_measure_0_and_counts_up_to_the_bar_line():
    score = music("< 4. | 1")
    assert describe(score, place(1)) == "measure 0, beat 3&"
    assert describe(score, place(2)) == "measure 1, beat 1"
    assert (display_number(score, 1), measure_index(score, 1)) == (1, 1)
    assert lead_in(score, 0) == Fraction(5, 2)
    assert lead_in(score, 1) == 0


PICKUP = measure("4.", short=True)
PART = {"repeat_times": 2, "short": True}


@pytest.mark.parametrize(
    ("bars", "metre", "leads"),
    [
        ((PICKUP, "1", measure("2,8", **PART), PICKUP, "1"), "4/4", "5/2 0 0 5/2 0"),
        ((measure("8", short=True), measure("4.,8", **PART), measure("8", short=True)), "6/8", "5/2 0 5/2"),
        (("1", measure("2.", short=True), measure("4", short=True), "1"), "4/4", "0 0 3 0"),  # parted by a line
        ((measure("1", repeat_times=2), measure("8", short=True), "1"), "4/4", "0 7/2 0"),  # behind a whole one
        (("1", measure("2.", short=True)), "4/4", "0 0"),  # an end that fits a pickup
        (("1", measure("2", endings=(1,), **PART), measure("2", endings=(2,), short=True)), "4/4", "0 0 0"),
        ((PICKUP, PICKUP, PICKUP, "1"), "4/4", "5/2 0 5/2 0"),
    ],
    ids=lambda each: each.replace(" ", "-").replace("/", "_") if isinstance(each, str) else "",
)
def test_where_measures_begin_in_their_metre(bars, metre, leads):
    built = score(*bars, metre=metre)
    assert " ".join(str(lead_in(built, index)) for index in range(len(bars))) == leads


def test_numbers_without_a_pickup():
    score = music("1 | 1")
    assert (display_number(score, 1), measure_index(score, 2)) == (2, 1)
    assert measure_index(score, 0) is None
    assert measure_index(score, 3) is None
    assert describe(score, place(3)) == "after the last measure"


def test_spans():
    span = Span.between(place(2, 1), place(1))
    assert span == Span(place(1), place(2, 1))
    assert place(2, "1/2") in span
    assert place(2, 1) not in span
    assert Span.of_measures(0, 1) == Span(Place(0), Place(2))
