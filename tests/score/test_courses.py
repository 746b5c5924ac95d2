"""Other courses and other pitches."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.key import Key
from tabterm.score.kinds import ChordNames
from tabterm.score.operations.courses import moved_symbol
from tabterm.score.place import Span
from tests.build import music, note, place, text
from tests.score.test_marks import chords

WHOLE = Span.of_measures(0, 9)


def test_a_lower_course_at_the_same_pitch_is_a_fifth_higher_on_the_neck():
    score = music("4 1.0, 4 2.2, 4 3.5, 4")
    assert text(do.move_course(score, WHOLE, 1)) == "4 2.7, 4 3.9, 4 4.12, 4"
    assert do.move_course(do.move_course(score, WHOLE, 1), WHOLE, -1) == score


def test_only_one_course_and_only_in_the_span():
    score = music("4 1.0 3.2, 4 1.0, 2 1.3")
    assert text(do.move_course(score, Span(place(1), place(1, 2)), 1, 1)) == "4 2.7 3.2, 4 2.7, 2 1.3"


def test_a_moved_note_has_no_finger():
    score = do.set_finger(music("1 1.3"), place(1), 1, 2)
    moved = do.move_course(score, WHOLE, 1)
    assert moved.measures[0].events[0].notes[0].finger is None


@pytest.mark.parametrize(
    ("before", "step", "course", "message"),
    [
        ("4, 4 2.3, 2", -1, None, "measure 1, beat 2: course 2 fret 3 has no place on course 1"),
        ("4, 4 4.3, 2", 1, None, "measure 1, beat 2: course 4 fret 3 has no place on course 5"),
        ("1 1.15", 1, None, "measure 1, beat 1: course 1 fret 15 has no place on course 2"),
        ("1 1.0 2.3", 1, 1, "measure 1, beat 1: two notes would share one course"),
    ],
)
def test_the_first_note_that_does_not_fit_is_named(before, step, course, message):
    with pytest.raises(ScoreError, match=f"^{message}"):
        do.move_course(music(before), WHOLE, step, course)


@pytest.mark.parametrize(
    ("before", "semitones", "after"),
    [
        pytest.param("4 1.3, 4 2.0, 2 3.5", 2, "4 1.5, 4 2.2, 2 3.7", id="on their courses"),
        pytest.param("4 1.3, 4 1.0, 2 2.0", -2, "4 1.1, 4 2.5, 2 3.5", id="below the nut to the next course"),
        pytest.param("1 1.0 2.5", -2, "1 2.5 3.10", id="two notes never meet"),
        pytest.param("1 2.20", 3, "1 1.16", id="above the neck to the higher course"),
        pytest.param("2 1.0, 2 (1.0", -1, "2 2.6, 2 (2.6", id="a tied note follows"),
        pytest.param("2 1.0 2.0, 2 (2.0", -1, "2 2.6 3.6, 2 (3.6", id="also out of a double stop"),
        pytest.param("2 1.0 2.5, 2 (2.5", -2, "2 2.5 3.10, 2 (3.10", id="even where it could stay"),
    ],
)
def test_transposed_by_semitones(before, semitones, after):
    assert text(do.transpose(music(before), WHOLE, semitones)) == after


@pytest.mark.parametrize(
    ("before", "semitones", "after"),
    [
        pytest.param("4 1.2, 4 h1.3, 2", -3, "4 2.6, 4 h2.7, 2", id="below the nut both change courses"),
        pytest.param("4 1.2, 4 h1.3, 4 p1.2, 4 1.3", -3, "4 2.6, 4 h2.7, 4 p2.6, 4 1.0", id="but no other note"),
        pytest.param("4 2.0, 4 h2.1, 4 1.0, 4 /1.3", -2, "4 3.5, 4 h3.6, 4 2.5, 4 /2.8", id="each slur by itself"),
        pytest.param("4 1.1 2.3, 4 /1.4 2.3, 2", -3, "4 2.5 3.7, 4 /2.8 3.7, 2", id="in double stops"),
        pytest.param("2 2.19, 2 /2.20", 3, "2 1.15, 2 /1.16", id="and above the neck"),
    ],
)
def test_a_slur_stays_on_one_course(before, semitones, after):
    """One course for both notes of a slur is what the left hand needs; common practice, no source."""
    assert text(do.transpose(music(before), WHOLE, semitones)) == after


def test_a_slur_into_the_span_keeps_to_the_course_that_it_comes_from():
    score = music("4 2.5, 4 /2.2, 2")
    assert text(do.transpose(score, Span(place(1, 1), place(1, 2)), 5)) == "4 2.5, 4 /2.7, 2"


def test_a_grace_note_goes_to_the_course_of_its_note():
    score = do.add_grace(music("4 1.2, 2."), place(1), note("1.4"))
    [moved] = do.transpose(score, WHOLE, -3).measures[0].events[0].grace
    assert (moved.course, moved.fret) == (2, 8)


@pytest.mark.parametrize(
    ("before", "at", "step", "after"),
    [
        pytest.param("4 1.2, 4 h1.3, 2 1.5", 1, 1, "4 2.9, 4 h2.10, 2 1.5", id="from its second note"),
        pytest.param("4 1.2, 4 h1.3, 2 p1.2", 0, 1, "4 2.9, 4 h2.10, 2 p2.9", id="from its first, to the last"),
        pytest.param("4 2.7, 4 p2.5, 2", 0, -1, "4 1.0, 4 p2.5, 2", id="or the note alone, where not all can go"),
        pytest.param("2 1.2, 2 (1.2", 2, 1, "2 2.9, 2 (2.9", id="a tie, too"),
    ],
)
def test_a_note_goes_to_another_course_with_its_slur(before, at, step, after):
    score = music(before)
    moved = do.move_slur(score, place(1, at), step, score.measures[0].events[bool(at)].notes[0].course)
    assert text(moved) == after


def test_slurs_over_two_courses_are_counted():
    score = music("4 2.7, 4 p2.5, 4 1.0, 4 h2.2")
    assert do.slurs_over_courses(score, WHOLE) == 1
    assert do.slurs_over_courses(do.move_slur(score, place(1), -1, 2), WHOLE) == 2


def test_nothing_is_transposed_when_a_note_leaves_the_instrument():
    with pytest.raises(ScoreError, match=r"^measure 1, beat 3: transposed by -2 this does not fit on the neck"):
        do.transpose(music("2 2.3, 2 4.1"), WHOLE, -2)


def test_to_a_key_the_shortest_way_with_chords_and_keys():
    score = do.set_key(music("1 2.3 | 1 1.0"), 0, Key.parse("G"))
    score = do.set_key(score, 1, Key.parse("Em"))
    for at, symbol in ((place(1), "G"), (place(1, 2), "D7/F#"), (place(2), "N.C."), (place(2, 2), "Bm7b5")):
        score = do.set_chord(score, at, symbol)
    up = do.transpose_to_key(score, Key.parse("A"))
    assert text(up) == "1 2.5 | 1 1.2"
    assert (str(up.head.key), str(up.measures[1].key)) == ("A", "F#m")
    assert [symbol for _, _, symbol in chords(up)] == ["A", "E7/G#", "N.C.", "C#m7b5"]
    down = do.transpose_to_key(score, Key.parse("F"))
    assert [symbol for _, _, symbol in chords(down)] == ["F", "C7/E", "N.C.", "Am7b5"]
    assert (str(down.head.key), str(down.measures[1].key)) == ("F", "Dm")
    flat = do.transpose_to_key(score, Key.parse("Bb"))
    assert [symbol for _, _, symbol in chords(flat)] == ["Bb", "F7/A", "N.C.", "Dm7b5"]
    assert str(flat.measures[1].key) == "Gm"


@pytest.mark.parametrize(
    ("old", "symbol", "new", "moved"),
    [
        *[("D", "C", "C", "Bb"), ("Em", "D", "Cm", "Bb"), ("G", "F/A", "A", "G/B"), ("D", "C7", "E", "D7")],
        *[("D", "Bb", "G", "Eb"), ("C", "Fm", "D", "Gm"), ("C", "Ab7", "A", "F7"), ("A", "F", "C", "Ab")],
        *[("C", "C#dim7", "D", "D#dim7"), ("F", "F#dim7", "C", "C#dim7"), ("G", "C#m7b5", "C", "F#m7b5")],
        *[("D", "F#m", "B", "D#m"), ("C", "A#", "G", "F"), ("A", "C#m", "Ab", "Cm"), ("G", "B7", "F", "A7")],
    ],
)
def test_a_chord_keeps_its_step_of_the_key_a_flat_seven_is_no_sharp_six(old, symbol, new, moved):
    """As a teacher says them: bVII of C is Bb, bVI of G is Eb, #I of D is D#; common practice, no source."""
    score = do.set_chord(do.set_key(music("1 2.7"), 0, Key.parse(old)), place(1), symbol)
    assert [each for _, _, each in chords(do.transpose_to_key(score, Key.parse(new)))] == [moved]


def test_to_the_key_it_has_is_no_change():
    score = do.set_chord(music("1 2.3"), place(1), "Db")
    assert do.transpose_to_key(score, score.head.key) is score


@pytest.mark.parametrize(
    ("symbol", "semitones", "names", "moved"),
    [
        *[("C6/9/E", 2, "english", "D6/9/F#"), ("(C/G)", 2, "english", "(D/A)"), ("B♭7", 4, "english", "D7")],
        *[("F♯m", 2, "english", "G♯m"), ("n.c.", 2, "english", "n.c."), ("C7/b9", 2, "english", "D7/b9")],
        *[("Hm", 1, "german", "Cm"), ("A", 2, "german", "H"), ("B", 2, "german", "C"), ("A", 1, "german", "B")],
        *[("Fis", 2, "german", "Gis"), ("Esus4", 1, "german", "Fsus4"), ("B", 2, "english", "C#")],
    ],
)
def test_moved_symbols_stay_in_the_names_of_their_player(symbol, semitones, names, moved):
    assert moved_symbol(symbol, semitones, Key.parse("G"), ChordNames(names)) == moved
