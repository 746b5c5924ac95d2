"""The one description of a change."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.change import Change
from tests.build import duration, music, note, place

SCORE = music("1 2.3 | 1 | 1 2.5 | 1")


def test_only_the_run_that_differs():
    after = do.write(SCORE, place(2, 3), duration("2"), (note("1.0"),))
    change = Change.between(SCORE, after)
    assert (change.first, len(change.removed), len(change.inserted)) == (1, 2, 2)
    assert change.head_before is change.head_after is None
    assert change.apply(SCORE) == after
    assert change.inverse.apply(after) == SCORE
    assert change.apply(SCORE).measures[3] is SCORE.measures[3]


def test_measures_put_in_and_taken_out():
    after = do.insert_measures(SCORE, 4, 2)
    change = Change.between(SCORE, after)
    assert (change.first, change.removed, len(change.inserted)) == (4, (), 2)
    assert Change.between(after, SCORE) == change.inverse


def test_only_the_head():
    after = do.set_title(SCORE, "Kiln Lane")
    change = Change.between(SCORE, after)
    assert (change.removed, change.inserted) == ((), ())
    assert change.head_after.title == "Kiln Lane"
    assert change.inverse.apply(after) == SCORE


def test_equal_scores_differ_in_nothing():
    assert Change.between(SCORE, music("1 2.3 | 1 | 1 2.5 | 1")) is None


def test_a_change_that_does_not_touch_the_head_applies_under_any():
    change = Change.between(SCORE, do.set_section(SCORE, 0, "A"))
    renamed = do.set_title(SCORE, "Kiln Lane")
    assert change.apply(renamed).head is renamed.head


def test_a_change_that_leaves_no_measure_is_refused():
    every = Change(first=0, removed=SCORE.measures)
    with pytest.raises(ScoreError, match="at least one measure"):
        every.apply(SCORE)
