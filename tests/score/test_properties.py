"""What holds for every operation on every score."""

from __future__ import annotations

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.score import operations
from tabterm.score.change import Change
from tabterm.score.model import Score
from tests import strategies
from tests.strategies import operations as steps
from tests.strategies import scores

quickly = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def revalidated(score: Score) -> Score:
    """The score built anew from plain data, every rule checked."""
    return Score.model_validate(score.model_dump(mode="json"))


@quickly
@given(st.data())
def test_any_sequence_keeps_the_rules_and_can_be_taken_back(data):
    score = first = data.draw(scores(max_measures=3))
    changes = []
    for _ in range(data.draw(st.integers(1, 6))):
        after = data.draw(steps(score))
        assert revalidated(after) == after
        for measure, metre in zip(after.measures, after.metres, strict=True):
            assert measure.length == metre.length or (measure.short and measure.length < metre.length)
        change = Change.between(score, after)
        if change is None:
            assert after == score
        else:
            assert change.apply(score) == after
            assert Change.model_validate_json(change.model_dump_json(exclude_defaults=True)) == change
            changes.append(change)
        score = after
    for change in reversed(changes):
        score = change.inverse.apply(score)
    assert score == first


@quickly
@given(st.data())
def test_measures_that_are_not_touched_stay_the_same_objects(data):
    score = data.draw(scores(max_measures=5))
    after = data.draw(steps(score))
    change = Change.between(score, after)
    if change is None:
        return
    assert all(a is b for a, b in zip(score.measures[: change.first], after.measures, strict=False))


def test_every_operation_is_drawn():
    """The strategy above names every public operation but the ones it cannot (map_events takes a function)."""
    source = Path(strategies.__file__).read_text(encoding="utf-8")
    not_drawn = {"Clip", "copy", "map_events", "set_instrument"}
    assert {name for name in operations.__all__ if f'"{name}"' not in source} == not_drawn
