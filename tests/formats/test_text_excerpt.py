"""Measures to paste into a message: what stands there, what does not, and that nothing is lost on the way back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings

import tabterm
from tabterm.errors import FormatError, ScoreError
from tabterm.formats import text
from tabterm.formats.text.excerpt import excerpt
from tabterm.piece.piece import Piece
from tabterm.score import operations as do
from tabterm.score.place import Place
from tests.build import PLAYER, measure, score
from tests.strategies import scores

HELD = True
SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def break_():
    """A solo with a pickup, a section, remarks, chords and proposals alone."""
    return tabterm.open(SAMPLES / "quarry-road-breakdown.tabterm", player=PLAYER).fingered()


def music(built):
    """What a reader has to play, by measure."""
    return [
        [
            (event.duration, [(note.course, note.fret, note.tied, note.reached) for note in event.notes])
            for event in each.events
        ]
        for each in built.measures
    ]


def hands(built):
    """Fingers and strokes of all events."""
    events = [event for each in built.measures for event in each.events]
    return [([note.finger_shown for note in event.notes], event.stroke_shown) for event in events]


def test_two_measures_as_they_are_pasted(break_):
    assert break_.excerpt(5, 6) == (
        "       5                                6\n"
        "chord   G\n"
        "rhythm  8   8   8   8   8   8   8   8    8   8   8   8   8   8   8   8\n"
        "E      |--------------------------------|--------------------------------|\n"
        "A      |----------------1b--2---0-------|----------------0---2---5---2---|\n"
        "D      |5---4---2---0---------------5---|0---2---4---5-------------------|\n"
        "G      |--------------------------------|--------------------------------|\n"
        "finger  3   2   1       1   1       3        1   2   3       1   3   1\n"
        "stroke  D   U   D   U   D   U   D   U    D   U   D   U   D   U   D   U\n"
    )


@pytest.mark.parametrize("width", [60, 72, 80])
def test_it_keeps_within_its_width_and_has_no_head_and_no_marks_of_proposals(break_, width):
    lines = break_.excerpt(width=width).splitlines()
    assert max(map(len, lines)) <= width
    assert not [line for line in lines if re.match(r"= \d|[a-z ]+:", line)]
    below = [line[7:] for line in lines if line.startswith(("finger", "stroke"))]
    assert below
    assert not re.search(r"[?@du]", "".join(below))


@pytest.mark.parametrize(
    "name", ["quarry-road-breakdown.tabterm", "lantern-waltz.tabterm", "cinder-lane-two-step.tabterm"]
)
def test_whoever_reads_it_gets_the_same_music_fingers_and_strokes(name):
    piece = tabterm.open(SAMPLES / name, player=PLAYER).fingered()
    found = text.read(piece.excerpt(width=60).encode()).music
    assert music(found) == music(piece.score)
    assert hands(found) == hands(piece.score)
    assert [each.chords for each in found.measures] == [each.chords for each in piece.score.measures]


@settings(max_examples=10)
@given(scores())
def test_any_score_can_be_pasted_at_any_width_of_a_message(built):
    for line in excerpt(built, 0, len(built.measures) - 1, width=60).splitlines():
        assert line == line.rstrip()


def test_a_sign_that_only_the_program_heeds_is_left_out():
    held = do.set_course_held(score("4 1.2,4 2.0,2 1.0"), Place(0), 1, HELD)
    assert "@" in text.write(held).decode()
    assert "@" not in excerpt(held, 0, 0)


def test_the_chord_and_the_metre_in_force_stand_at_its_beginning():
    built = do.set_chord(score("2. 1.0", "2. 1.2", "2. 1.3", metre="3/4"), Place(0), "Em7")
    lines = excerpt(built, 2, 2).splitlines()
    assert (lines[0], lines[3]) == ("metre: 3/4", "chord   Em7")


def test_a_remark_that_is_too_long_stands_under_its_system():
    built = do.set_remark(do.set_section(score("1 1.0", "1 1.2"), 0, "A"), 0, "lean into the second beat " * 4)
    lines = excerpt(built, 0, 1, width=60).splitlines()
    assert lines[0].split() == ["1", "[A]", "2"]
    assert " ".join(lines[-2:]) == ("1: " + "lean into the second beat " * 4).strip()


def test_measures_that_are_not_there_and_widths_that_cannot_be_are_refused(break_):
    with pytest.raises(ScoreError, match="no measure 40"):
        break_.excerpt(5, 40)
    with pytest.raises(FormatError, match="a width of 5 characters"):
        break_.excerpt(width=5)


def test_a_pickup_is_measure_nought():
    assert Piece(score(measure("4 1.2", short=True), "1 2.0"), PLAYER).excerpt(0, 0).split()[0] == "0"
