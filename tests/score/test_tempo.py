"""Metronome marks."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score.duration import Duration
from tabterm.score.tempo import Tempo


@pytest.mark.parametrize(
    ("word", "shown", "quarters"),
    [
        ("104", "1/4=104", 104),
        ("1/4=104", "1/4=104", 104),
        ("3/8=112", "3/8=112", 168),
        ("6/16=112", "3/8=112", 168),
        ("7/16=80", "7/16=80", 140),
        ("1/8=90", "1/8=90", 45),
        ("1/2=60", "1/2=60", 120),
        ("1/1=30", "1/1=30", 120),
        ("72.5", "1/4=72.5", 72.5),
    ],
)
def test_text_and_quarters(word, shown, quarters):
    tempo = Tempo.parse(word)
    assert str(tempo) == shown
    assert tempo.quarters_per_minute == pytest.approx(quarters)
    assert Tempo.parse(shown) == tempo


@pytest.mark.parametrize("word", ["", "fast", "1/4=", "=100", "1/4=100.1234", "-5", "1/0=60", "0/4=60", "²/4=60"])
def test_what_is_no_tempo(word):
    with pytest.raises(ScoreError, match=r"^not a tempo: .*1/4=104, 3/8=112"):
        Tempo.parse(word)


@pytest.mark.parametrize("word", ["5/8=60", "1/3=60", "1/512=60"])
def test_parts_that_are_no_note_value(word):
    with pytest.raises(ScoreError, match=f"^a tempo cannot count {word[:-3]} "):
        Tempo.parse(word)


def test_no_tempo_counts_a_tuplet():
    with pytest.raises(ScoreError, match=r"cannot count 8\(3:2\)"):
        Tempo(60.0, Duration.parse("8(3:2)"))


@pytest.mark.parametrize(
    ("former", "today"),
    [
        ("4=104", "1/4=104"),
        ("4.=112", "3/8=112"),
        ("2..=40", "7/8=40"),
        ("1=60", "1/1=60"),
        ("128=90", "1/128=90"),
    ],
)
def test_the_form_of_version_1_is_read(former, today):
    assert str(Tempo.parse(former)) == today


@pytest.mark.parametrize("word", ["3=60", "4...=60", "0=60", "=60", "64..=60x"])
def test_what_was_no_tempo_is_none_now(word):
    with pytest.raises(ScoreError):
        Tempo.parse(word)


@pytest.mark.parametrize("word", ["9", "401", "0"])
def test_tempos_out_of_range(word):
    with pytest.raises(ScoreError, match="out of range"):
        Tempo.parse(word)
