"""The schools of picking against what the printed methods say."""

from __future__ import annotations

import pytest

from tabterm.hand.schools import SCHOOLS
from tabterm.hand.strokes import idle_schools, with_proposals
from tabterm.score.kinds import Direction, Stroke, StrokeSchool
from tabterm.score.model import Note
from tabterm.score.operations import set_school
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, measure, music, score
from tests.hand.stroke_phrases import PHRASES

D, U = Stroke.DOWN, Stroke.UP
LETTERS = {D: "D", U: "U", None: "."}


def strokes(text, school, metre="4/4"):
    built = with_proposals(score(text, metre=metre, school=StrokeSchool(school)), PLAYER)
    return "".join(LETTERS[each.proposed_stroke] for each in built.measures[0].events)


def eighths(courses):
    return ",".join(f"8 {course}.2" for course in courses)


def test_every_school_is_described_and_sourced():
    assert set(SCHOOLS) == set(StrokeSchool)
    for school in SCHOOLS.values():
        assert school.title
        assert school.words.endswith(".")
        assert school.source


@pytest.mark.parametrize(
    ("text", "metre", "expected"),
    [
        # Bickford 1920 p. 44: (1) down begins all measures and groups, extended to all beats and even half
        # beats (eighths in 2/4); (2) only notes too fast for that alternate; (3) down on a new course.
        ("8 2.2,8 2.3,8 2.5,8 2.3", "2/4", "DDDD"),
        ("16 2.2,16 2.3,16 2.5,16 2.3,4 2.2", "2/4", "DUDUD"),
        ("16 2.2,16 1.3,16 1.5,16 2.3,4 2.2", "2/4", "DDDDD"),
        ("16 3.2,16 3.3,16 2.2,16 2.3,16 1.2,16 1.3,8 1.5", "2/4", "DUDUDUD"),
        ("8 2.2,8 2.3,8 2.5,8 1.0,8 1.2,8 1.3", "6/8", "DUDDUD"),
        # What is too quick alternates on from the note that has come down on its new course.
        ("8 2.2,8 1.0,8 1.2,8 1.0,8 1.2,8 1.3", "6/8", "DDUDUD"),
        ("32 2.2,32 1.0,32 1.2,32 1.3,8 1.5,4 1.2", "2/4", "DDUDDD"),
        # Down begins all groups: half beats in threes as well.
        ("16(3:2) 2.2,16(3:2) 2.3,16(3:2) 2.5,16(3:2) 2.2,16(3:2) 2.3,16(3:2) 2.5,4 2.2", "2/4", "DUDDUDD"),
        # A beat of three eighths has no half.
        ("8 2.2,8 2.3,8 2.5,8 2.3", "4/8", "DDDD"),
        ("8 2.2,8 2.3,8 2.5", "3/8", "DUD"),
    ],
)
def test_down_on_a_new_course(text, metre, expected):
    assert strokes(text, "course-change", metre) == expected


def test_accented_notes_come_down():
    """Bickford 1920 p. 44, rule 1: down plays all accented notes."""
    quick = [event(f"16 2.{fret}", accent=fret in {3, 4}) for fret in (2, 3, 5, 4)]
    built = with_proposals(
        score(measure("1").with_(events=(*quick, event("4"))), metre="2/4", school=StrokeSchool.COURSE_CHANGE),
        PLAYER,
    )
    assert [each.proposed_stroke for each in built.measures[0].events] == [D, D, D, D, None]


@pytest.mark.parametrize(("tempo", "expected"), [(60, "D" * 8), (194, "D" * 8), (196, "DUDUDUDU")])
def test_half_beats_come_down_while_the_hand_is_back_in_time(tempo, expected):
    """Bickford 1920 p. 44, rule 2: only notes too rapid for rule 1 alternate. Too rapid is what the hand does not
    do in equal strokes: 6.5 a second in the default profile, eighths at 6.5 * 60 / 2 = 195."""
    built = with_proposals(
        score(eighths((2,) * 8), tempo=Tempo(float(tempo)), school=StrokeSchool.COURSE_CHANGE), PLAYER
    )
    assert "".join(LETTERS[each.proposed_stroke] for each in built.measures[0].events) == expected


def test_a_grace_note_on_another_course_makes_its_note_a_new_one():
    """Bickford 1920 p. 44, rule 3, read for grace notes: no source."""
    graced = event("16 2.3", grace=(Note(course=3, fret=2),))
    built = score(measure("1").with_(events=(event("16 2.2"), graced, event("8 2.5"), event("4"))), metre="2/4")
    old = with_proposals(set_school(built, StrokeSchool.COURSE_CHANGE), PLAYER)
    assert [each.proposed_stroke for each in old.measures[0].events] == [D, D, D, None]


def test_a_new_course_over_the_bar_line():
    built = with_proposals(
        score(
            "16 2.2,16 2.3,16 2.5,16 2.3,4 2.2",
            "16,16 1.2,8 1.3,4 1.2",
            metre="2/4",
            school=StrokeSchool.COURSE_CHANGE,
        ),
        PLAYER,
    )
    assert built.measures[1].events[1].proposed_stroke is D
    same = with_proposals(
        score(
            "16 2.2,16 2.3,16 2.5,16 2.3,4 2.2",
            "16,16 2.2,8 2.3,4 2.2",
            metre="2/4",
            school=StrokeSchool.COURSE_CHANGE,
        ),
        PLAYER,
    )
    assert same.measures[1].events[1].proposed_stroke is U


@pytest.mark.parametrize(
    ("courses", "expected"),
    [
        # Bickford 1920 p. 32: one continued down-stroke over successive courses. A down-stroke goes from the
        # lowest-pitched course to the highest; that an up-stroke glides the other way: common practice, no source.
        ((4, 3, 2, 1, 1, 1, 1, 1), "DDDDDUDU"),
        ((1, 2, 3, 3, 3, 3, 3, 3), "UUUUDUDU"),
        ((2, 1, 2, 1, 2, 1, 2, 1), "DUDUDUDU"),
        ((4, 3, 2, 3, 4, 3, 2, 1), "DDDUDDDD"),
        ((4, 3, 4, 3, 2, 1, 1, 1), "DUDDDDDU"),
        ((4, 2, 1, 4, 2, 1, 1, 1), "DUDUDUDU"),
    ],
)
def test_glides(courses, expected):
    assert strokes(eighths(courses), "glide") == expected


ROLL = (3, 2, 1, 3, 2, 1, 3, 2)


@pytest.mark.parametrize(
    ("school", "expected"),
    [
        # Three published patterns for 3+3+2 eighths over three courses, named as in SCHOOLS; the reverse and the
        # forward roll in strokes alike: mandolindon.blogspot.com, 5 April 2008.
        ("roll-down-up-up", "DUUDUUDU"),
        ("roll-down-down-up", "DDUDDUDU"),
        ("roll-alternate", "DUDUDUDU"),
    ],
)
def test_rolls_over_three_courses(school, expected):
    assert strokes(eighths(ROLL), school) == expected
    # where the passage is no roll, the beat rules
    assert strokes(eighths((3, 3, 1, 3, 2, 1, 3, 2)), school) == "DUDUDUDU"
    assert strokes("4 3.2,4 2.2,4 1.2,4 3.2", school) == "DDDD"


def test_rolls_of_double_stops_have_their_direction():
    """Towards the higher courses is down, whatever the beat says; towards the lower ones up."""
    up = event("4 1.2 2.2", roll=Direction.UP)
    down = event("4 1.2 2.2", roll=Direction.DOWN)
    built = with_proposals(
        score(measure("1").with_(events=(down, event("8 1.2"), event("8 1.2"), up, event("4")))), PLAYER
    )
    assert [LETTERS[each.proposed_stroke] for each in built.measures[0].events] == ["U", "D", "U", "D", "."]


def test_what_is_no_glide():
    """A slur, a rest, a double stop or a grace note in between breaks the stroke off."""
    for text in (
        "8 4.2,8 3.0,8 h3.2,8 2.2,8 1.2,8 1.2,4",
        "8 4.2,8 3.2,8,8 2.2,8 1.2,8,4",
        "8 4.2,8 2.2 3.2,8 2.2,8 1.2,2",
    ):
        assert strokes(text, "glide") == strokes(text, "beat")


def test_a_forward_roll():
    """Down on the low, down on the middle, up on the high string, twice, then down low, up high (thread "cross
    picking", mudcat.org, message 241290)."""
    assert strokes(eighths((3, 2, 1, 3, 2, 1, 3, 1)), "roll-down-down-up") == "DDUDDUDU"


def test_rolls_begin_on_a_beat_and_are_of_single_notes_of_one_value():
    off_beat = "8," + eighths((3, 2, 1, 3, 2, 1, 3))
    stops = eighths(ROLL).replace("2.2", "1.2 2.2")
    five = eighths((3, 2, 1, 3, 2)) + ",8,4"
    for text in (off_beat, stops, five, "8 3.2,16 2.2,16 1.2,8 3.2,16 2.2,16 1.2,8 3.2,8 2.2,8 3.2,8"):
        assert strokes(text, "roll-down-up-up") == strokes(text, "beat")
    behind = "8 1.0,8 1.2,4 1.3,4 1.0," + eighths(ROLL)
    assert strokes(behind, "roll-down-up-up", "7/4") == "DUDD" + "DUUDUUDU"


@pytest.mark.parametrize("phrase", PHRASES, ids=lambda phrase: f"{phrase.school} {phrase.metre} {phrase.strokes}")
def test_phrases_have_the_strokes_of_a_teacher(phrase):
    built = with_proposals(music(phrase.music, phrase.metre, school=StrokeSchool(phrase.school)), PLAYER)
    heard = ["".join(LETTERS[each.proposed_stroke] for each in bar.events) for bar in built.measures]
    assert "|".join(heard) == phrase.strokes


@pytest.mark.parametrize(
    ("school", "music_of", "lines"),
    [
        (
            "roll-down-up-up",
            "4 1.2,4 1.3,2 1.5",
            ["measure 1: 'roll-down-up-up' needs six or more equal single notes"],
        ),
        ("roll-down-up-up", eighths(ROLL) + "|1 1.2|1 1.2|1|" + eighths(ROLL), ["measures 2-3: "]),
        ("roll-down-up-up", eighths(ROLL) + "|1", []),
        ("glide", "4 1.2,4 1.3,2 1.5|1 1.2", ["measures 1-2: 'glide' needs three notes on successive courses"]),
        ("glide", "4 1.2,4 1.3,2 1.5|" + eighths((4, 3, 2, 1, 1, 1, 1, 1)), []),
        ("tremolo", "4 1.2,4 1.3,4 1.5,4 1.2", ["measure 1: 'tremolo' needs half notes or longer"]),
        ("tremolo", "4 1.2,4 1.3,2 1.5", []),
        ("beat", "1 1.2", []),
    ],
)
def test_a_school_that_does_not_apply_says_so(school, music_of, lines):
    found = idle_schools(music(music_of, school=StrokeSchool(school)))
    assert len(found) == len(lines)
    assert all(one.startswith(other) for one, other in zip(found, lines, strict=True))
    assert all(line.endswith("; strokes go by the beat") for line in found)
