"""Metronome marks."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score.tempo import Tempo


@pytest.mark.parametrize(
    ("word", "shown", "quarters"),
    [
        ("104", "4=104", 104),
        ("4=104", "4=104", 104),
        ("4.=112", "4.=112", 168),
        ("8=90", "8=90", 45),
        ("2=60", "2=60", 120),
        ("72.5", "4=72.5", 72.5),
    ],
)
def test_text_and_quarters(word, shown, quarters):
    tempo = Tempo.parse(word)
    assert str(tempo) == shown
    assert tempo.quarters_per_minute == pytest.approx(quarters)
    assert Tempo.parse(shown) == tempo


@pytest.mark.parametrize("word", ["", "fast", "4=", "=100", "4=100.1234", "-5"])
def test_what_is_no_tempo(word):
    with pytest.raises(ScoreError, match="is no tempo"):
        Tempo.parse(word)


@pytest.mark.parametrize("word", ["9", "401", "0"])
def test_tempos_out_of_range(word):
    with pytest.raises(ScoreError, match="out of range"):
        Tempo.parse(word)
