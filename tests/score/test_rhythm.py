"""Changing the rhythm of what is written."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.duration import Tuplet
from tabterm.score.kinds import Direction, Stroke
from tests.build import duration, music, place, text

TRIPLET = Tuplet(3, 2)


@pytest.mark.parametrize(
    ("before", "length", "after"),
    [
        ("4 2.3, 4 2.5, 2", "8", "8 2.3, 8, 4 2.5, 2"),
        ("4 2.3, 4 2.5, 2", "4.", "4. 2.3, 8, 2"),
        ("4 2.3, 4 2.5, 2", "1.", "1 2.3 | 2 (2.3, 2"),
    ],
)
def test_a_duration_frees_or_takes_time(before, length, after):
    assert text(do.set_duration(music(before), place(1), duration(length))) == after


def test_the_duration_that_it_has_is_no_change():
    score = music("4 2.3, 2.")
    assert do.set_duration(score, place(1), duration("4")) is score


def test_dots():
    score = do.set_dots(music("4 2.3, 4 2.5, 2"), place(1), 1)
    assert text(score) == "4. 2.3, 8, 2"
    assert text(do.set_dots(score, place(1), 2)) == "4.. 2.3, 16, 2"
    assert text(do.set_dots(score, place(1), 0)) == "4 2.3, 2."


@pytest.mark.parametrize(
    ("before", "metre", "tuplet", "after"),
    [
        pytest.param(
            "4 2.3, 4 2.5, 4 2.7, 4 2.8",
            "4/4",
            TRIPLET,
            "4(3:2) 2.3, 4(3:2) 2.5, 4(3:2), 4 2.7, 4 2.8",
            id="the notes in its time are its members",
        ),
        pytest.param(
            "4 2.3, 2. 2.5", "4/4", TRIPLET, "4(3:2) 2.3, 4(3:2) 2.5, 4(3:2), 2", id="a longer note is cut"
        ),
        pytest.param("4, 2. 2.5", "4/4", TRIPLET, "4(3:2), 4(3:2) 2.5, 4(3:2), 2", id="it may begin with a rest"),
        pytest.param("8 2.3, 4, 4.", "6/8", Tuplet(2, 3), "8(2:3) 2.3, 8(2:3), 4.", id="a duplet"),
        pytest.param(
            "16 2.0, 16 2.2, 16 2.3, 16 2.5, 2.",
            "4/4",
            Tuplet(5, 4),
            "16(5:4) 2.0, 16(5:4) 2.2, 16(5:4) 2.3, 16(5:4) 2.5, 16(5:4), 2.",
            id="five in the time of four",
        ),
    ],
)
def test_a_tuplet(before, metre, tuplet, after):
    assert text(do.make_tuplet(music(before, metre), place(1), tuplet)) == after


def test_a_tuplet_is_undone_note_by_note():
    score = music("4(3:2) 2.3, 4(3:2) 2.5, 4(3:2) 2.7, 2")
    assert text(do.make_tuplet(score, place(1), None)) == "4 2.3, 8(3:2), 4(3:2) 2.7, 2"


def test_a_tuplet_stays_in_its_measure():
    with pytest.raises(ScoreError, match=r"^measure 1, beat 4: a tuplet of 3:2 would run over the end"):
        do.make_tuplet(music("2., 4 2.3"), place(1, 3), TRIPLET)


def test_a_tie_is_turned_on_and_off():
    score = music("2 1.0 2.3, 2 1.2 2.3")
    tied = do.toggle_tie(score, place(1, 2))
    assert text(tied) == "2 1.0 2.3, 2 1.2 (2.3"
    assert text(do.toggle_tie(tied, place(1, 2))) == text(score)


def test_what_is_only_tied_takes_no_stroke():
    both = do.set_stroke(music("2 1.0 2.3, 2 1.0 2.3"), place(1, 2), Stroke.UP)
    one = do.set_stroke(music("2 1.0 2.3, 2 1.2 2.3"), place(1, 2), Stroke.UP)
    assert do.toggle_tie(both, place(1, 2)).measures[0].events[1].stroke is None
    assert do.toggle_tie(one, place(1, 2)).measures[0].events[1].stroke is Stroke.UP


@pytest.mark.parametrize(
    ("music_text", "message"),
    [
        ("2 2.3, 2 2.5", "no equal note right before this one"),
        ("2 x2.3, 2 2.3", "no equal note right before this one"),
        ("2 2.3, 2", "a rest takes no tie"),
    ],
)
def test_a_tie_needs_an_equal_note_before(music_text, message):
    with pytest.raises(ScoreError, match=f"^measure 1, beat 3: {message}"):
        do.toggle_tie(music(music_text), place(1, 2))


def test_split_strikes_again_half_way_or_at_the_place():
    assert text(do.split(music("2 1.0 2.3, 2"), place(1))) == "4 1.0 2.3, 4 1.0 2.3, 2"
    assert text(do.split(music("1 2.3"), place(1, 1))) == "4 2.3, 2. 2.3"
    assert text(do.split(music("2 2.2, 2 h2.3"), place(1, 2))) == "2 2.2, 4 h2.3, 4 2.3"


def test_the_second_of_a_split_slides_off():
    score = do.split(do.set_slide_out(music("2 2.3, 2"), place(1), 2, Direction.DOWN), place(1))
    assert [event.notes[0].slide_out for event in score.measures[0].events[:2]] == [None, Direction.DOWN]


def test_the_second_stroke_of_a_split_is_not_chosen_yet():
    score = do.split(do.set_stroke(music("2 2.3, 2"), place(1), Stroke.UP), place(1))
    assert [event.stroke for event in score.measures[0].events[:2]] == [Stroke.UP, None]


@pytest.mark.parametrize(
    ("music_text", "message"), [("1", "a rest takes no"), ("64 2.3, 64, 32, 16, 8, 4, 2", "too short")]
)
def test_not_everything_can_be_split(music_text, message):
    with pytest.raises(ScoreError, match=message):
        do.split(music(music_text), place(1))


def test_join_takes_the_time_of_the_next_event():
    assert text(do.join(music("4 2.3, 4 2.5, 2"), place(1))) == "2 2.3, 2"
    assert text(do.join(music("1 2.3 | 2, 2 2.5"), place(1))) == "1 2.3 | 2 (2.3, 2 2.5"
    with pytest.raises(ScoreError, match="nothing follows to join with"):
        do.join(music("1 2.3"), place(1))


def test_there_is_no_rhythm_after_the_end():
    with pytest.raises(ScoreError, match="after the last measure"):
        do.set_dots(music("1 2.3"), place(2), 1)


@pytest.mark.parametrize(
    ("before", "values", "after"),
    [
        ("4 2.0, 4 2.2, 4 2.3, 4 2.5", "8 8 4 2", "8 2.0, 8 2.2, 4 2.3, 2 2.5"),
        ("4 2.0, 4 2.2, 4 2.3, 4 2.5", "4., 8", "4. 2.0, 8 2.2, 4. 2.3, 8 2.5"),
        ("8 2.0, 8 2.2, 4, 2 2.3", "4 4 r4 4", "4 2.0, 4 2.2, 4, 4 2.3"),
        ("4 2.0, 4 2.2, 2 2.3", "4 4 4 r4", "4 2.0, 4 2.2, 4 2.3, 4"),
        ("4 2.0, 8 2.2, 8 (2.2, 2 2.3", "2 4 4", "2 2.0, 4 2.2, 4 2.3"),
        ("4 2.0, 4 2.2, 4 2.3, 4 2.5", "8t 8t 8t 2.", "8(3:2) 2.0, 8(3:2) 2.2, 8(3:2) 2.3, 2. 2.5"),
        ("2 2.0, 2 2.2", "8", "< 8 2.0, 8 2.2"),
    ],
)
def test_other_values_for_the_notes_of_a_measure(before, values, after):
    assert text(do.set_values(music(before), 0, values)) == after


def test_chord_symbols_go_with_their_notes_when_values_change():
    score = do.set_chord(do.set_chord(music("4 2.0, 4 2.2, 2 2.3"), place(1), "G"), place(1, 2), "D7")
    changed = do.set_values(score, 0, "2 4 4")
    assert [(str(mark.offset), mark.symbol) for mark in changed.measures[0].chords] == [("0", "G"), ("3", "D7")]


@pytest.mark.parametrize(
    ("before", "index", "values", "said"),
    [
        ("4 2.0, 4 2.2, 2 2.3", 0, "2", "these values make 6 quarters, the measure has 4"),
        ("1 2.0 | 2 2.0, 2 2.2", 1, "4", "these values make 2 quarters, the measure has 4"),
        ("1", 0, "4", "the measure has no notes"),
        ("1 2.0", 0, "r4", "no note values in 'r4'"),
        ("1 2.0", 0, "4 x", "not a note value: 'x'"),
    ],
)
def test_values_that_do_not_fit_are_refused(before, index, values, said):
    with pytest.raises(ScoreError, match=said):
        do.set_values(music(before), index, values)
