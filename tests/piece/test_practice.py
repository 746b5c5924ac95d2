"""The tempo ladder: its text form, its rungs, and what cannot be one."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.piece.practice import Ladder
from tabterm.score.tempo import Tempo

ANY = Tempo(100.0)
percents = st.integers(20, 200)


@pytest.mark.parametrize(
    ("text", "rungs"),
    [
        ("60:100:10", (60, 70, 80, 90, 100)),
        ("60:100:15x3", (60, 75, 90, 100)),
        ("100:80:10x1", (100, 90, 80)),
        ("90:90:5", (90,)),
        ("60:61:0.5x2", (60, 60.5, 61)),
    ],
)
def test_rungs_lead_from_the_start_to_the_end(text, rungs):
    assert Ladder.parse(text).rungs(ANY) == rungs
    assert str(Ladder.parse(text)) == text


def test_beats_a_minute_are_percents_of_the_written_tempo():
    ladder = Ladder.parse("52:104:26x2 bpm")
    assert ladder.rungs(Tempo.parse("3/8=104")) == (50.0, 75.0, 100.0)
    assert str(ladder) == "52:104:26x2bpm"
    with pytest.raises(ScoreError, match="260 percent"):
        Ladder.parse("52:104:26bpm").rungs(Tempo(40.0))


def test_without_turns_it_is_climbed_when_told():
    assert Ladder.parse("60:100:5").turns is None
    assert Ladder.parse("60:100:5x3").turns == 3


@pytest.mark.parametrize("text", ["", "60", "60:100", "60:100:0", "10:100:5", "60:300:5", "60:100:5x0", "a:b:c"])
def test_what_is_no_ladder_is_said_with_a_way_out(text):
    with pytest.raises(ScoreError) as caught:
        Ladder.parse(text)
    assert caught.value.hint


@given(start=percents, end=percents, step=st.integers(1, 50))
def test_every_rung_lies_between_and_the_steps_are_even(start, end, step):
    rungs = Ladder(start, end, step).rungs(ANY)
    assert (rungs[0], rungs[-1]) == (start, end)
    assert sorted(rungs, reverse=start > end) == list(rungs)
    assert len(set(rungs)) == len(rungs)
    steps = {abs(a - b) for a, b in pairwise(rungs[:-1])}
    assert steps <= {step}
