"""What is marked at a measure, and in the head."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.instrument import preset
from tabterm.score import operations as do
from tabterm.score.key import Key
from tabterm.score.kinds import Barline, Break, StrokeSchool
from tabterm.score.model import Swing
from tabterm.score.profile import HandProfile
from tabterm.score.tempo import Tempo
from tests.build import duration, music, note, place

SCORE = music("1 2.3 | 1 | 1")


@pytest.mark.parametrize(
    ("operation", "value", "field"),
    [
        (do.set_repeat_start, True, "repeat_start"),
        (do.set_repeat_times, 2, "repeat_times"),
        (do.set_barline, Barline.DOUBLE, "barline"),
        (do.set_section, "Bridge", "section"),
        (do.set_remark, "let the wrist hang", "remark"),
        (do.set_break, Break.PAGE, "break_before"),
        (do.set_key, Key.parse("A mixolydian"), "key"),
        (do.set_tempo, Tempo.parse("3/8=112"), "tempo"),
    ],
)
def test_one_measure(operation, value, field):
    after = operation(SCORE, 1, value)
    assert getattr(after.measures[1], field) == value
    assert after.measures[0] is SCORE.measures[0]
    assert after.measures[2] is SCORE.measures[2]
    assert operation(after, 1, value) is after


def test_endings_span_measures():
    after = do.set_endings(SCORE, 1, 2, (1, 3))
    assert [measure.endings for measure in after.measures] == [(), (1, 3), (1, 3)]
    assert do.set_endings(after, 1, 2, ()) == SCORE


def test_the_first_measure_has_the_key_and_tempo_of_the_head():
    after = do.set_tempo(do.set_key(SCORE, 0, Key.parse("G")), 0, Tempo.parse("90"))
    assert (str(after.head.key), str(after.head.tempo)) == ("G", "1/4=90")
    assert all(one is other for one, other in zip(after.measures, SCORE.measures, strict=True))


def test_a_change_to_what_is_in_force_is_not_written():
    assert do.set_key(SCORE, 1, SCORE.head.key) is SCORE
    assert do.set_tempo(SCORE, 1, SCORE.head.tempo) is SCORE


def test_a_school_for_some_measures_leaves_what_holds_behind_them():
    four = music("1 | 1 | 1 | 1")
    beat, old = StrokeSchool.BEAT, StrokeSchool.COURSE_CHANGE
    some = do.set_school_of(four, 1, 2, old)
    assert some.schools == (beat, old, old, beat)
    assert [measure.school for measure in some.measures] == [None, old, None, beat]
    assert some.measures[0] is four.measures[0]
    assert do.set_school_of(some, 1, 2, beat) == four
    assert do.set_school_of(some, 2, 3, StrokeSchool.GLIDE).schools == (beat, old, *(StrokeSchool.GLIDE,) * 2)
    assert do.set_school_of(some, 1, 1, beat).schools == (beat, beat, old, beat)
    assert do.delete_measures(some, 1, 1).schools == (beat, old, beat)


def test_the_section_round_a_measure():
    marked = do.set_section(do.set_section(music("1 | 1 | 1 | 1"), 1, "A"), 3, "B")
    assert [do.section_round(marked, index) for index in range(4)] == [(0, 0), (1, 2), (1, 2), (3, 3)]
    assert do.section_round(SCORE, 1) == (0, len(SCORE.measures) - 1)


@pytest.mark.parametrize(
    ("operation", "arguments", "message"),
    [
        (do.set_repeat_times, (0, 1), "a repeat is played at least twice"),
        (do.set_repeat_times, (0, 100), "a passage cannot be played 100 times"),
        (do.set_endings, (0, 0, (0,)), "not the number of a pass"),
        (do.set_section, (0, "x" * 41), "the name of the section is too long"),
        (do.set_remark, (0, "x" * 501), "the remark is too long"),
        (do.set_title, ("x" * 201,), "the title is too long"),
        (do.set_foreword, ("x" * 2001,), "the foreword is too long"),
        (do.set_credits, (("x" * 501,),), "a credit line is too long"),
    ],
)
def test_what_is_refused_in_one_line(operation, arguments, message):
    with pytest.raises(ScoreError, match=message) as refusal:
        operation(SCORE, *arguments)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("operation", "value", "field"),
    [
        (do.set_title, "Kiln Lane", "title"),
        (do.set_credits, ("typed by hand", "for lessons"), "credits"),
        (do.set_foreword, "Listen first.\nThen sing it.", "foreword"),
        (do.set_swing, Swing(unit=16, long=3, short=2), "swing"),
        (do.set_school, StrokeSchool.ALTERNATE, "school"),
        (do.set_hand, HandProfile(span_mm=130), "hand"),
        (do.set_instrument, preset("tenor-banjo"), "instrument"),
    ],
)
def test_the_head(operation, value, field):
    after = operation(SCORE, value)
    assert getattr(after.head, field) == value
    assert all(one is other for one, other in zip(after.measures, SCORE.measures, strict=True))
    assert operation(after, value) is after


def test_an_instrument_needs_the_courses_in_use():
    mandolin = SCORE.head.instrument
    one_course = mandolin.with_(name="Monochord", courses=mandolin.courses[:1])
    with pytest.raises(ScoreError, match="measure 1: this Monochord has no course 2"):
        do.set_instrument(SCORE, one_course)


TWO = music("1 2.3 | 1")


def chords(score):
    return [
        (number, str(mark.offset), mark.symbol)
        for number, measure in enumerate(score.measures, 1)
        for mark in measure.chords
    ]


def test_symbols_stand_in_order_one_to_a_moment():
    after = do.set_chord(do.set_chord(do.set_chord(TWO, place(1, 2), "D7"), place(1), "G"), place(1, 2), "C")
    assert chords(after) == [(1, "0", "G"), (1, "2", "C")]
    assert chords(do.set_chord(after, place(1), None)) == [(1, "2", "C")]
    assert do.set_chord(TWO, place(1), None) is TWO


def test_symbols_stay_when_notes_are_written_below():
    score = do.set_chord(TWO, place(1, 2), "D7")
    assert chords(do.write(score, place(1, 1), duration("1"), (note("2.5"),))) == chords(score)


@pytest.mark.parametrize("symbol", ["", "G 7", "x" * 25])
def test_what_is_no_symbol(symbol):
    with pytest.raises(ScoreError, match=r"^measure 1, beat 2: not a chord symbol: '.*'"):
        do.set_chord(TWO, place(1, 1), symbol)


@pytest.mark.parametrize("at", [place(3), place(2, 4)])
def test_only_over_music(at):
    with pytest.raises(ScoreError, match="no music here to put a chord over"):
        do.set_chord(TWO, at, "G")
