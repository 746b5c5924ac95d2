"""Music put into measures, of a score and of a line alike: spelled, filled up, tied over, with what changes."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.score.duration import QUARTER, Duration
from tabterm.score.key import Key
from tabterm.score.kinds import Direction, Reached
from tabterm.score.line import Bar, Line, Moment, silent
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.operations.barring import Barring, Stretch, over_bars
from tabterm.score.source import Tone
from tabterm.score.tempo import Tempo

FOUR, THREE = Metre.parse("4/4"), Metre.parse("3/4")
G, D = Key.parse("G"), Key.parse("D")


def heard(onset, length, pitch, **marks):
    notes = (Tone(pitch=pitch, **marks),)
    return Stretch(Fraction(onset), Fraction(length), Moment(duration=QUARTER, notes=notes), line=7)


def shown(bar):
    return [
        (str(each.duration), *each.pitches, *("tied" for note in each.notes if note.tied)) for each in bar.events
    ]


def test_silence_is_filled_and_what_has_no_value_is_spelled():
    barring = Barring(Moment, Bar)
    assert barring.add([heard(1, Fraction(5, 4), 67), heard(3, "1/2", 69)], Fraction(4), FOUR) == []
    assert shown(barring.measures[0]) == [
        *(("4",), ("4", 67), ("16", 67, "tied")),
        *(("8.",), ("8", 69), ("8",)),
    ]


def test_what_lasts_over_a_bar_line_is_tied_over_it():
    marks = {"reached": Reached.STRUCK, "slide_in": Direction.UP, "slide_out": Direction.DOWN}
    barring = Barring(Moment, Bar)
    for inside in over_bars([heard(3, 3, 67, **marks), heard(6, 1, 69)], [Fraction(4), Fraction(4)]):
        barring.add(inside, Fraction(4), FOUR)
    first, second = barring.measures
    assert shown(first)[-1] == ("4", 67)
    assert shown(second) == [("2", 67, "tied"), ("4", 69), ("4",)]
    begun, held = first.events[-1].notes[0], second.events[0].notes[0]
    assert (begun.slide_in, begun.slide_out, held.slide_in, held.slide_out) == (
        *(Direction.UP, None),
        *(None, Direction.DOWN),
    )


def test_a_dead_note_is_silent_where_it_is_held():
    barring = Barring(Moment, Bar)
    barring.add([heard(0, Fraction(5, 4), 67, muted=True)], Fraction(4), FOUR)
    assert shown(barring.measures[0])[:2] == [("4", 67), ("16",)]


def test_only_changes_are_told_and_what_begins_is_the_head_s():
    barring = Barring(Moment, Bar)
    for metre, key, tempo in (
        (THREE, None, Tempo(90.0)),
        (THREE, G, None),
        (FOUR, G, Tempo(90.0)),
        (FOUR, D, None),
    ):
        barring.add([], metre.length, metre, key=key, tempo=tempo)
    assert barring.begins == {"metre": THREE, "tempo": Tempo(90.0)}
    assert [(bar.metre, bar.key, bar.tempo) for bar in barring.measures] == [
        *((None, None, None), (None, G, None), (FOUR, None, None), (None, D, None))
    ]


def test_a_key_that_the_head_has_said_stays_its():
    barring = Barring(Moment, Bar, key=G)
    barring.add([], Fraction(4), FOUR, key=D)
    assert (barring.begins["key"], barring.measures[0].key) == (G, D)


def test_a_pickup_is_counted_from_the_end_of_its_measure():
    """It begins half way between two beats, and is written up to the next one first."""
    barring = Barring(Moment, Bar)
    barring.add([heard(0, Fraction(3, 2), 67)], Fraction(3, 2), FOUR)
    assert barring.measures[0].short
    assert shown(barring.measures[0]) == [("8", 67), ("4", 67, "tied")]


@pytest.mark.parametrize("marks", [{"tied": True}, {"reached": Reached.HAMMER}])
def test_what_comes_from_nothing_is_struck_and_returned(marks):
    barring = Barring(Moment, Bar)
    barring.add([heard(0, 2, 69)], Fraction(4), FOUR)
    wrong = heard(0, 4, 67, **marks)
    assert barring.add([wrong], Fraction(4), FOUR) == [(wrong, Moment(duration=Duration.parse("2")))]
    assert barring.measures[1].events[0].notes[0].is_struck


def test_what_is_too_fine_is_refused_with_its_line_and_leaves_nothing_behind():
    barring = Barring(Moment, Bar)
    with pytest.raises(ScoreError, match="too short") as caught:
        barring.add([heard(0, Fraction(1, 99991), 67)], Fraction(4), FOUR)
    assert caught.value.place == "line 7"
    assert not barring.measures
    barring.add([heard(0, 1, 67)], Fraction(4), FOUR, key=G)
    assert barring.begins["key"] == G


def test_a_score_is_built_as_a_line_is():
    barring = Barring(Event, Measure)
    event = Event(duration=QUARTER, notes=(Note(course=2, fret=5),))
    barring.add([Stretch(Fraction(1), Fraction(5, 4), event)], Fraction(4), FOUR)
    built = Score(head=Head(**barring.begins), measures=tuple(barring.measures))
    assert [(str(each.duration), [note.tied for note in each.notes]) for each in built.measures[0].events] == [
        *(("4", []), ("4", [False]), ("16", [True]), ("8.", []), ("4", []))
    ]


def test_a_silent_score_keeps_pitches_durations_and_ties_of_its_line():
    barring = Barring(Moment, Bar)
    barring.add([heard(0, Fraction(5, 4), 67, vibrato=True)], Fraction(4), FOUR, section="A")
    score = silent(Line(head=Head(**barring.begins), measures=tuple(barring.measures)))
    assert all(event.is_rest for event in score.measures[0].events)
    assert score.measures[0].section == "A"
    assert [(each.pitches, each.tied) for each in score.measures[0].source][:3] == [
        *(((67,), False), ((67,), True), ((), False))
    ]
