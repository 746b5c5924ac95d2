"""Chord symbols over moments."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tests.build import duration, music, note, place

SCORE = music("1 2.3 | 1")


def chords(score):
    return [
        (number, str(mark.offset), mark.symbol)
        for number, measure in enumerate(score.measures, 1)
        for mark in measure.chords
    ]


def test_symbols_stand_in_order_one_to_a_moment():
    after = do.set_chord(do.set_chord(do.set_chord(SCORE, place(1, 2), "D7"), place(1), "G"), place(1, 2), "C")
    assert chords(after) == [(1, "0", "G"), (1, "2", "C")]
    assert chords(do.set_chord(after, place(1), None)) == [(1, "2", "C")]
    assert do.set_chord(SCORE, place(1), None) is SCORE


def test_symbols_stay_when_notes_are_written_below():
    score = do.set_chord(SCORE, place(1, 2), "D7")
    assert chords(do.write(score, place(1, 1), duration("1"), (note("2.5"),))) == chords(score)


@pytest.mark.parametrize("symbol", ["", "G 7", "x" * 25])
def test_what_is_no_symbol(symbol):
    with pytest.raises(ScoreError, match=r"^measure 1, beat 2: not a chord symbol: '.*'"):
        do.set_chord(SCORE, place(1, 1), symbol)


@pytest.mark.parametrize("at", [place(3), place(2, 4)])
def test_only_over_music(at):
    with pytest.raises(ScoreError, match="no music here to put a chord over"):
        do.set_chord(SCORE, at, "G")
