"""Measures in which the click rests, as text and as they are counted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.score.click_rests import ClickRests


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("2 1", ClickRests((2, 1))),
        (" 12:4 ", ClickRests((12, 4))),
        ("m3 m7-8", ClickRests(measures=frozenset({3, 7, 8}))),
        ("m3,7-8", ClickRests(measures=frozenset({3, 7, 8}))),
        ("m0", ClickRests(measures=frozenset({0}))),
    ],
)
def test_both_forms_are_read(text, read):
    assert ClickRests.parse(text) == read


@pytest.mark.parametrize(
    "text", ["", "2", "0 2", "2 1 1", "100 1", "3 m4 5", "m", "m4-2", "m1-", "m1;2", "m123456", "m" + "9" * 5000]
)
def test_anything_else_is_refused_with_both_forms_named(text):
    with pytest.raises(ScoreError, match=r"not measures .*2 1.*m3 m7-8"):
        ClickRests.parse(text)


turns = st.tuples(st.integers(1, 99), st.integers(1, 99)).map(ClickRests)
chosen = st.frozensets(st.integers(0, 99999), min_size=1).map(lambda measures: ClickRests(measures=measures))


@given(turns | chosen)
def test_the_text_form_reads_back(rests):
    assert ClickRests.parse(str(rests)) == rests


def test_runs_of_measures_are_written_short():
    rests = ClickRests.parse("m9 m1 m2 m3")
    assert str(rests) == "m1-3 m9"
    assert rests.in_words == "without m1-3 m9"


def test_measures_in_turn_are_counted_as_they_are_played():
    rests = ClickRests((2, 1))
    assert [rests.silent(played, 50) for played in range(6)] == [False, False, True] * 2
