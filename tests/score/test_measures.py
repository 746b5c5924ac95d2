"""Measures put in and taken out, and the pickup."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.duration import Duration
from tabterm.score.key import Key
from tabterm.score.kinds import Barline, Break
from tabterm.score.metre import Metre
from tabterm.score.model import Measure, Score
from tabterm.score.source import SourceEvent
from tests.build import measure, music, place, score, sounds, text
from tests.score.test_marks import chords

TWO = music("1 2.3 | 2 (2.3, 2 2.5")


def test_measures_of_rest_come_in_the_metre_before_them():
    assert text(do.insert_measures(TWO, 1, 2)) == "1 2.3 | 1 | 1 | 2 2.3, 2 2.5"
    assert text(do.insert_measures(TWO, 2)) == "1 2.3 | 2 (2.3, 2 2.5 | 1"
    waltz_behind = do.set_metre(TWO, 1, Metre.parse("3/4"))
    assert text(do.insert_measures(waltz_behind, 1)) == "1 2.3 | 1 | 2 2.3, 4 2.5 | 4 (2.5, 2"


def test_measures_are_taken_out_and_the_tie_over_the_gap_is_struck():
    three = do.insert_measures(TWO, 0)
    assert text(do.delete_measures(three, 0, 1)) == "2 2.3, 2 2.5"
    assert text(do.delete_measures(three, 2, 2)) == "1 | 1 2.3"


def test_the_last_measure_becomes_a_rest():
    assert text(do.delete_measures(TWO, 0, 1)) == "1"
    empty = music("1")
    assert do.delete_measures(empty, 0, 0) is empty


def test_what_a_removed_measure_set_goes_on():
    score = music("1 | 1 | 1 | 1")
    score = do.set_key(do.set_metre(score, 1, Metre.parse("2/4")), 2, Key.parse("D"))
    after = do.delete_measures(score, 1, 2)
    assert str(after.measures[1].metre) == "2/4"
    assert str(after.measures[1].key) == "D"
    before = len(score.measures)
    assert len(after.measures) == before - 2


def test_a_change_that_is_none_after_a_deletion_is_not_written():
    score = do.set_key(do.set_key(music("1 | 1 | 1"), 1, Key.parse("D")), 2, Key.parse("C"))
    assert do.delete_measures(score, 1, 1).measures[1].key is None


@pytest.mark.parametrize(
    ("before", "length", "after"),
    [
        pytest.param("2., 4 2.3 | 1", Fraction(1), "< 4 2.3 | 1", id="a silent front goes"),
        pytest.param("1 2.3 | 1", Fraction(3, 2), "< 8, 4 | 1 2.3 | 1", id="music moves behind a new pickup"),
        pytest.param("< 4 2.3 | 1", Fraction(5, 2), "< 8, 4, 4 2.3 | 1", id="longer by rests in front"),
        pytest.param("< 4 2.3, 4 2.5 | 1", Fraction(1), "< 4 2.5 | 1", id="shorter by its front"),
        pytest.param("< 4 2.3 | 1", None, "2., 4 2.3 | 1", id="whole again"),
        pytest.param("2., 4 2.3 | 1 (2.3", Fraction(1), "< 4 2.3 | 1 (2.3", id="a tie out of it stays"),
    ],
)
def test_a_pickup(before, length, after):
    assert text(do.set_pickup(music(before), length)) == after


def test_a_pickup_that_is_there_is_no_change():
    score = music("< 4 2.3 | 1")
    assert do.set_pickup(score, Fraction(1)) is score


def test_chord_symbols_stay_over_their_notes_when_a_pickup_is_cut():
    score = do.set_chord(music("2., 4 2.3"), place(1, 3), "D7")
    after = do.set_pickup(score, Fraction(1))
    assert [(mark.offset, mark.symbol) for mark in after.measures[0].chords] == [(0, "D7")]
    assert do.set_pickup(after, None) == score


@pytest.mark.parametrize("length", [Fraction(0), Fraction(4), Fraction(-1)])
def test_a_pickup_is_shorter_than_a_measure(length):
    with pytest.raises(ScoreError, match="does not fit"):
        do.set_pickup(TWO, length)


SCORE = music("4 2.3, 4 2.5, 4 2.7, 4 2.8 | 1 1.0 | 2 (1.0, 2 1.2")


@pytest.mark.parametrize(
    ("index", "metre", "after"),
    [
        (0, "3/4", "4 2.3, 4 2.5, 4 2.7 | 4 2.8, 2 1.0 | 2. (1.0 | 4 (1.0, 2 1.2"),
        (0, "6/8", "4 2.3, 4 2.5, 4 2.7 | 4 2.8, 8 1.0, 4. (1.0 | 2. (1.0 | 4 (1.0, 2 1.2"),
        (1, "2/4", "4 2.3, 4 2.5, 4 2.7, 4 2.8 | 2 1.0 | 2 (1.0 | 2 (1.0 | 2 1.2"),
        (2, "7/8", "4 2.3, 4 2.5, 4 2.7, 4 2.8 | 1 1.0 | 2 (1.0, 4. 1.2 | 8 (1.2, 8, 4, 4."),
    ],
)
def test_music_is_barred_anew(index, metre, after):
    assert text(do.set_metre(SCORE, index, Metre.parse(metre))) == after


def test_tied_parts_are_one_note_again():
    there = do.set_metre(SCORE, 0, Metre.parse("2/4"))
    assert text(do.set_metre(there, 0, Metre.parse("4/4"))) == text(SCORE)


def test_the_first_measure_changes_the_head_and_others_their_mark():
    waltz = Metre.parse("3/4")
    assert do.set_metre(SCORE, 0, waltz).head.metre == waltz
    later = do.set_metre(SCORE, 1, waltz)
    assert [measure.metre for measure in later.measures][:3] == [None, waltz, None]
    assert later.head is SCORE.head
    assert later.measures[0] is SCORE.measures[0]
    assert do.set_metre(SCORE, 0, Metre.parse("4/4")) is SCORE


def test_it_ends_at_the_next_change_of_metre_and_ties_over_it_stay():
    score = do.set_metre(SCORE, 2, Metre.parse("2/4"))
    assert text(score) == "4 2.3, 4 2.5, 4 2.7, 4 2.8 | 1 1.0 | 2 (1.0 | 2 1.2"
    after = do.set_metre(score, 0, Metre.parse("2/4"))
    assert text(after) == "4 2.3, 4 2.5 | 4 2.7, 4 2.8 | 2 1.0 | 2 (1.0 | 2 (1.0 | 2 1.2"
    assert all(measure.metre is None for measure in after.measures)


def test_a_metre_takes_the_place_of_one_that_began_there():
    """The measure itself and the one before it, which set metres as well, are no end of it."""
    score = do.set_metre(
        do.set_metre(music("1 2.3 | 1 2.5 | 1 2.7"), 1, Metre.parse("2/4")), 2, Metre.parse("3/4")
    )
    after = do.set_metre(score, 2, Metre.parse("4/4"))
    assert [str(metre) for metre in after.metres[:3]] == ["4/4", "2/4", "4/4"]
    assert sounds(after) == sounds(score)


def test_a_pickup_stays_one():
    score = music("< 4 2.3 | 1 2.5")
    assert text(do.set_metre(score, 0, Metre.parse("3/4"))) == "< 4 2.3 | 2. 2.5 | 4 (2.5, 2"


def test_a_pickup_as_long_as_a_new_measure_is_a_whole_one():
    score = music("< 2. 2.3 | 1 2.5")
    assert text(do.set_metre(score, 0, Metre.parse("3/4"))) == "2. 2.3 | 2. 2.5 | 4 (2.5, 2"


def test_marks_go_to_the_measure_where_they_come_to_lie():
    score = music("1 | 1 | 1")
    score = do.set_section(score, 1, "B")
    score = do.set_key(score, 2, Key.parse("D"))
    score = do.set_repeat_start(do.set_repeat_times(score, 1, 3), 1, value=True)
    score = do.set_barline(do.set_remark(score, 2, "slowly"), 2, Barline.FINAL)
    score = do.set_chord(score, place(2, 3), "G7")
    after = do.set_metre(score, 0, Metre.parse("2/4")).measures
    assert [measure.section for measure in after] == ["", "", "B", "", "", ""]
    assert [str(measure.key or "") for measure in after] == ["", "", "", "", "D", ""]
    assert [measure.repeat_start for measure in after] == [False, False, True, False, False, False]
    assert [measure.repeat_times for measure in after] == [0, 0, 0, 3, 0, 0]
    assert [measure.remark for measure in after] == ["", "", "", "", "slowly", ""]
    assert after[-1].barline is Barline.FINAL
    assert [(mark.offset, mark.symbol) for mark in after[3].chords] == [(1, "G7")]


def test_words_that_meet_are_joined_and_the_last_key_goes_on():
    score = music("2 | 2", "2/4")
    score = do.set_remark(do.set_remark(score, 0, "one"), 1, "two")
    score = do.set_key(score, 1, Key.parse("A"))
    (measure,) = do.set_metre(score, 0, Metre.parse("4/4")).measures
    assert measure.remark == "one / two"
    assert str(measure.key) == "A"


def test_of_two_breaks_that_meet_the_page_is_kept():
    breaks = (None, Break.PAGE, Break.SYSTEM, None)
    bars = (measure("1 1.0", break_before=each) for each in breaks)
    after = do.set_metre(score(*bars), 0, Metre.parse("12/4"))
    assert [each.break_before for each in after.measures] == [Break.PAGE, None]


def test_of_two_keys_in_one_measure_the_later_goes_on():
    score = music("2 | 2 | 2 | 2", "2/4")
    score = do.set_key(do.set_key(score, 2, Key.parse("A")), 3, Key.parse("E"))
    assert [str(key) for key in do.set_metre(score, 0, Metre.parse("4/4")).keys] == ["C", "E"]


def test_an_ending_covers_every_measure_of_its_time():
    score = do.set_endings(music("1 | 1 | 1"), 1, 1, (1,))
    after = do.set_metre(score, 0, Metre.parse("2/4"))
    assert [measure.endings for measure in after.measures] == [(), (), (1,), (1,), (), ()]


def test_the_source_line_is_barred_with_the_music():
    line = tuple(SourceEvent(duration=Duration.parse("2"), pitches=(pitch,)) for pitch in (60, 62))
    plain = music("1 | 1")
    score = Score(head=plain.head, measures=(plain.measures[0].with_(source=line), plain.measures[1]))
    after = do.set_metre(score, 0, Metre.parse("3/4")).measures
    assert [_line(measure) for measure in after] == [
        [("2", (60,)), ("4", (62,))],
        [("4", (62,)), ("2", ())],
        [],
    ]


def _line(measure: Measure):
    return [(str(event.duration), event.pitches) for event in measure.source]


def test_a_chord_of_the_source_that_is_partly_held_is_tied_where_a_bar_line_cuts_it():
    half = Duration.parse("2")
    source = (SourceEvent(duration=half, pitches=(60,)), SourceEvent(duration=half, pitches=(64, 60), held=(60,)))
    built = music("1")
    built = Score(head=built.head, measures=(built.measures[0].with_(source=source),))
    changed = do.set_metre(built, 0, Metre.parse("3/4"))
    parts = [event for each in changed.measures for event in each.source if event.pitches]
    assert [(event.pitches, event.tied, event.held) for event in parts] == [
        ((60,), False, ()),
        ((64, 60), False, (60,)),
        ((64, 60), True, ()),
    ]


def test_measures_are_swapped_as_music_or_with_their_chords():
    score = music("4 1.0, 2. 1.2 | 1 1.3 | 1 2.0 | 2 2.2, 2 h2.3")
    score = do.set_chord(do.set_chord(score, place(1), "G"), place(3, 2), "D7")
    swapped = do.swap_measures(score, 0, 2)
    assert text(swapped) == "1 2.0 | 2 2.2, 2 h2.3 | 4 1.0, 2. 1.2 | 1 1.3"
    assert chords(swapped) == chords(score)
    assert do.swap_measures(swapped, 0, 2) == score
    assert chords(do.swap_measures(score, 0, 2, chords=True)) == [(1, "2", "D7"), (3, "0", "G")]


@pytest.mark.parametrize(
    ("text_", "first", "message"), [("1 | 1", 1, "no measures follow"), ("< 4 | 1", 0, "different lengths")]
)
def test_what_cannot_be_swapped(text_, first, message):
    with pytest.raises(ScoreError, match=message):
        do.swap_measures(music(text_), first, 1)
