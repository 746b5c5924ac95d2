"""Repeats and endings as players read them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from tabterm.performance import playing_order
from tabterm.performance.order import MOST_MEASURES
from tests.build import measure, score
from tests.strategies import scores


def order_of(*marks: dict[str, object]) -> str:
    """The playing order of measures A, B, C ... with these marks."""
    built = score(*(measure("1 1.0", **mark) for mark in marks))
    return "".join("ABCDEFGH"[index] for index in playing_order(built))


PLAIN, START, END = {}, {"repeat_start": True}, {"repeat_times": 2}
FIRST_END, SECOND = {"endings": (1,), "repeat_times": 2}, {"endings": (2,)}


@pytest.mark.parametrize(
    ("marks", "order"),
    [
        ([PLAIN, PLAIN], "AB"),
        ([PLAIN, END, PLAIN], "ABABC"),
        ([PLAIN, START, END, PLAIN], "ABCBCD"),
        ([START | END, START | END], "AABB"),
        ([PLAIN, {"repeat_times": 3}, END, PLAIN], "ABABABCCD"),
        ([START, FIRST_END, SECOND, PLAIN], "ABACD"),
        # the endings of a second passage count anew
        ([START, FIRST_END, SECOND, START, FIRST_END, SECOND], "ABACDEDF"),
        # endings of two measures
        ([START, {"endings": (1,)}, FIRST_END, SECOND, SECOND, PLAIN], "ABCADEF"),
        # first and second time the same, the third another
        ([START, {"endings": (1, 2), "repeat_times": 3}, {"endings": (3,)}, PLAIN], "ABABACD"),
        # each ending closed by a repeat sign, as it is often written
        ([START, FIRST_END, {"endings": (2,), "repeat_times": 3}, PLAIN], "ABACAD"),
        # endings without a sign of repeat, or the first without a second
        ([PLAIN, {"endings": (1,)}, SECOND, PLAIN], "ABACD"),
        ([PLAIN, FIRST_END, PLAIN], "ABAC"),
        # an ending whose turn seems never to come is still played
        ([SECOND, PLAIN], "AB"),
        # repeats are not nested: the inner start closes the outer passage
        ([START, START, END, END], "ABCBCDD"),
    ],
)
def test_playing_order(marks, order):
    assert order_of(*marks) == order


def test_a_pickup_is_repeated_with_its_passage():
    pickup = score(measure("4 1.0", short=True), measure("2. 1.0", short=True, repeat_times=2))
    assert playing_order(pickup) == (0, 1, 0, 1)


def test_repeats_beyond_reason_are_cut():
    assert (
        len(playing_order(score(*[measure("1 1.0", repeat_start=True, repeat_times=99)] * 300))) == MOST_MEASURES
    )


@settings(max_examples=40, deadline=None)
@given(scores(max_measures=8))
def test_every_measure_is_played_and_in_its_order(built):
    order = playing_order(built)
    assert set(order) == set(range(len(built.measures)))
    firsts = [order.index(index) for index in range(len(built.measures)) if not built.measures[index].endings]
    assert firsts == sorted(firsts)
