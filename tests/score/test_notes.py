"""Saying how notes are fingered, reached, struck and shaded."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score import operations as do
from tabterm.score.kinds import Direction, Reached, Stroke
from tabterm.score.source import Bend
from tests.build import music, note, place, text

SCORE = music("4 1.0 2.3, 4 2.5, 2")

ON_NOTES = [
    (do.set_finger, "finger", 2),
    (do.set_bend, "bend", Bend(cents=100)),
    (do.set_slide_in, "slide_in", Direction.UP),
    (do.set_slide_out, "slide_out", Direction.DOWN),
    (do.set_muted, "muted", True),
    (do.set_ring, "ring", True),
    (do.set_vibrato, "vibrato", True),
]
ON_EVENTS = [
    (do.set_stroke, "stroke", Stroke.UP),
    (do.set_accent, "accent", True),
    (do.set_staccato, "staccato", True),
    (do.set_tremolo, "tremolo", True),
    (do.set_roll, "roll", Direction.UP),
]


@pytest.mark.parametrize(("operation", "field", "value"), ON_NOTES)
def test_one_note_of_an_event(operation, field, value):
    after = operation(SCORE, place(1, "1/2"), 2, value)
    high, low = after.measures[0].events[0].notes
    assert getattr(low, field) == value
    assert high == SCORE.measures[0].events[0].notes[0]
    assert after.measures[0].events[1:] == SCORE.measures[0].events[1:]
    assert operation(after, place(1), 2, value) is after
    with pytest.raises(ScoreError, match=r"^measure 1, beat 2: no note on course 1"):
        operation(SCORE, place(1, 1), 1, value)


@pytest.mark.parametrize(("operation", "field", "value"), ON_EVENTS)
def test_a_whole_event(operation, field, value):
    after = operation(SCORE, place(1), value)
    assert getattr(after.measures[0].events[0], field) == value
    assert operation(after, place(1), value) is after
    with pytest.raises(ScoreError, match=rf"^measure 1, beat 3: a rest takes no {field}"):
        operation(SCORE, place(1, 2), value)


@pytest.mark.parametrize("reached", [Reached.HAMMER, Reached.PULL, Reached.SLIDE])
def test_a_note_is_slurred_from_the_event_before(reached):
    after = do.set_reached(SCORE, place(1, 1), 2, reached)
    assert after.measures[0].events[1].notes[0].reached is reached
    assert do.set_reached(after, place(1, 1), 2, Reached.STRUCK) == SCORE
    with pytest.raises(ScoreError, match=r"^measure 1, beat 1: no note to slur from"):
        do.set_reached(SCORE, place(1), 2, reached)


def test_a_slur_ends_a_tie():
    assert text(do.set_reached(music("2 2.3, 2 (2.3"), place(1, 2), 2, Reached.PULL)) == "2 2.3, 2 p2.3"


def test_a_note_that_is_deadened_is_no_longer_tied():
    deadened = do.set_muted(music("2 2.3, 2 (2.3"), place(1, 2), 2, True)  # noqa: FBT003 - positional only
    assert text(deadened) == "2 2.3, 2 x2.3"


def test_grace_notes_come_in_order_and_go_together():
    after = do.add_grace(do.add_grace(SCORE, place(1), note("2.1")), place(1), note("2.2"))
    assert after.measures[0].events[0].grace == (note("2.1"), note("2.2"))
    assert do.clear_grace(after, place(1)) == SCORE
    assert do.clear_grace(SCORE, place(1)) is SCORE


def test_a_slur_from_a_grace_note_is_struck_without_it():
    graced = do.add_grace(SCORE, place(1), note("2.1"))
    slurred = do.set_reached(graced, place(1), 2, Reached.HAMMER)
    assert slurred.measures[0].events[0].on_course(2).slurred
    assert do.clear_grace(slurred, place(1)) == SCORE


def test_a_grace_note_is_on_the_neck_and_before_a_note():
    with pytest.raises(ScoreError, match="fret 30 is beyond the neck"):
        do.add_grace(SCORE, place(1), note("2.30"))
    with pytest.raises(ScoreError, match="a rest takes no grace note"):
        do.add_grace(SCORE, place(1, 2), note("2.3"))
