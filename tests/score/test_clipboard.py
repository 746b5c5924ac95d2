"""Copying, cutting and pasting."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.place import Span
from tests.build import music, place, text
from tests.score.test_marks import chords

SCORE = music("4 2.0, 4 2.2, 2 2.3 | 1 | 1 1.0")


def test_a_phrase_is_pasted_anywhere_and_repeated():
    clip = do.copy(SCORE, Span(place(1, 1), place(2)))
    assert clip.length == 3
    assert text(do.paste(SCORE, place(2), clip)) == "4 2.0, 4 2.2, 2 2.3 | 4 2.2, 2 2.3, 4 | 1 1.0"
    assert text(do.paste(SCORE, place(2, 2), clip, 2)) == (
        "4 2.0, 4 2.2, 2 2.3 | 2, 4 2.2, 4 2.3 | 4 (2.3, 4 2.2, 2 2.3"
    )
    assert text(do.paste(SCORE, place(4), clip)).endswith("| 1 1.0 | 4 2.2, 2 2.3, 4")


def test_a_span_cuts_the_notes_at_its_ends():
    clip = do.copy(SCORE, Span(place(1, 3), place(3, 1)))
    assert text(do.paste(music("1"), place(1), clip)) == "4 2.3, 2. | 4, 4 1.0, 2"


def test_a_note_tied_into_the_copy_is_struck():
    score = music("1 2.3 | 2 (2.3, 2 p2.2 | 1")
    clip = do.copy(score, Span(place(2), place(3)))
    assert text(do.paste(score, place(3), clip)) == "1 2.3 | 2 (2.3, 2 p2.2 | 2 2.3, 2 p2.2"
    assert text(do.paste(score, place(2), clip)) == "1 2.3 | 2 2.3, 2 p2.2 | 1"


def test_cut_leaves_silence():
    after, clip = do.cut(SCORE, Span(place(1, 1), place(1, 2)))
    assert text(after) == "4 2.0, 4, 2 2.3 | 1 | 1 1.0"
    assert text(do.paste(after, place(1, 1), clip)) == text(SCORE)


def test_chord_symbols_stay_unless_they_are_to_go_along_and_replace_those_in_their_time():
    score = do.set_chord(do.set_chord(SCORE, place(1, 1), "G"), place(2), "C")
    score = do.set_chord(score, place(2, 3), "F")
    clip = do.copy(score, Span(place(1), place(1, 3)))
    assert chords(do.paste(score, place(2), clip)) == chords(score)
    assert chords(do.paste(score, place(2), clip, chords=True)) == [(1, "1", "G"), (2, "1", "G"), (2, "3", "F")]
    assert chords(do.paste(score, place(2), clip, 2, chords=True)) == [(1, "1", "G"), (2, "1", "G"), (3, "0", "G")]


def test_a_copy_without_symbols_leaves_those_that_are_there():
    score = do.set_chord(SCORE, place(2), "C")
    clip = do.copy(SCORE, Span(place(1), place(2)))
    assert chords(do.paste(score, place(2), clip, chords=True)) == [(2, "0", "C")]


def test_nothing_to_copy():
    with pytest.raises(ScoreError, match="nothing to copy"):
        do.copy(SCORE, Span(place(2), place(2)))


def test_tuplets_come_along_whole():
    score = music("8(3:2) 2.0, 8(3:2) 2.2, 8(3:2) 2.3, 2.")
    clip = do.copy(score, Span(place(1), place(1, 1)))
    assert text(do.paste(score, place(1, 2), clip)) == (
        "8(3:2) 2.0, 8(3:2) 2.2, 8(3:2) 2.3, 4, 8(3:2) 2.0, 8(3:2) 2.2, 8(3:2) 2.3, 4"
    )
