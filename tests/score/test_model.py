"""What the model refuses, and how a changed copy is made."""

from __future__ import annotations

from dataclasses import FrozenInstanceError

import pytest

from tabterm.errors import ScoreError
from tabterm.judge import UnfitError
from tabterm.score.duration import Duration
from tabterm.score.kinds import Direction, Reached, Stroke
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Event, Measure, Note, Score, Swing
from tabterm.score.profile import HandProfile
from tabterm.score.source import Bend, SourceEvent
from tests.build import music, note, text

QUARTER, HALF, WHOLE = (Duration.parse(word) for word in ("4", "2", "1"))
REST = Event(duration=WHOLE)


@pytest.mark.parametrize(
    ("line", "metre", "message"),
    [
        ("2 2.3, 4", "4/4", "measure 1: its events last 3 quarters, but 4/4 has 4"),
        ("1 | 1, 4", "4/4", "measure 2: its events last 5 quarters, but 4/4 has 4"),
        ("2, 8(3:2)", "4/4", "measure 1: its events last 7/3 quarters"),
        ("1", "6/8", "measure 1: its events last 4 quarters, but 6/8 has 3"),
        ("< 1, 4", "4/4", "measure 1: its events last 5 quarters"),
        ("1 (2.3", "4/4", "measure 1: the tie on course 2 fret 3 has no note to start from"),
        ("1 2.3 | 1 (2.5", "4/4", "measure 2: the tie on course 2 fret 5 has no note to start from"),
        ("1 2.3 | 1 (1.3", "4/4", "measure 2: the tie on course 1 fret 3"),
        ("1 x2.3 | 1 (2.3", "4/4", "measure 2: the tie on course 2 fret 3"),
        ("1 | 1 h2.3", "4/4", "measure 2: the hammer on course 2 fret 3 has no note to start from"),
        ("1 5.3", "4/4", "measure 1: this Mandolin has no course 5"),
    ],
)
def test_a_score_that_does_not_hold_together(line, metre, message):
    with pytest.raises(ScoreError, match=f"^{message}"):
        music(line, metre)


@pytest.mark.parametrize("line", ["2 2.3, 2 (2.5", "2, 2 p2.3"])
def test_a_measure_that_does_not_hold_together(line):
    with pytest.raises(ScoreError, match="has no note to start from"):
        music(line)


@pytest.mark.parametrize(
    "line",
    [
        "< 4 2.3 | 1",
        "1 2.3 | 1 (2.3",
        "2 1.0, 2 h2.3",  # a slur across courses is for the hand to judge
        "2 2.5, 2 h2.3",  # a hammer-on downwards too
        "1 2.3 | < 2",
    ],
)
def test_a_score_that_holds_together(line):
    assert text(music(line)) == line


def test_a_slur_may_come_from_a_grace_note():
    event = Event(duration=WHOLE, notes=(note("h2.3"),), grace=(note("2.2"),))
    assert Score(measures=(Measure(events=(event,)),)).measures[0].events[0] == event


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"notes": (note("2.3"), note("1.0"))}, "in course order"),
        ({"notes": (note("2.3"), note("2.5"))}, "each course once"),
        ({"stroke": Stroke.UP}, "a rest takes no stroke"),
        ({"tremolo": True}, "a rest takes no stroke"),
        ({"accent": True}, "a rest takes no stroke"),
        ({"staccato": True}, "a rest takes no stroke"),
        ({"proposed_stroke": Stroke.UP}, "a rest takes no stroke"),
        ({"roll": Direction.UP}, "a rest takes no stroke"),
        ({"grace": (note("2.3"),)}, "a rest takes no stroke"),
        ({"notes": (Note(course=2, fret=3, tied=True, reached=Reached.PULL),)}, "either tied or slurred"),
    ],
)
def test_an_event_that_cannot_be(fields, message):
    with pytest.raises(ScoreError, match=message):
        Event(duration=QUARTER, **fields)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"chords": (ChordMark(offset=4, symbol="G"),)}, "inside their measure"),
        ({"chords": (ChordMark(offset=1, symbol="G"), ChordMark(offset=0, symbol="C"))}, "in order"),
        ({"chords": (ChordMark(offset=1, symbol="G"), ChordMark(offset=1, symbol="C"))}, "one to an offset"),
        ({"repeat_times": 1}, "at least twice"),
        ({"source": (SourceEvent(duration=HALF),)}, "the original line must fill its measure"),
    ],
)
def test_a_measure_that_cannot_be(fields, message):
    with pytest.raises(ScoreError, match=message):
        Measure(events=(REST,), **fields)


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        (Note, {"course": 0, "fret": 0}),
        (Note, {"course": 1, "fret": -1}),
        (Note, {"course": 1, "fret": 37}),
        (Note, {"course": 1, "fret": 2, "finger": 5}),
        (Note, {"course": 1, "fret": 2, "colour": "red"}),
        (Bend, {"cents": 500}),
        (ChordMark, {"offset": 0, "symbol": "G 7"}),
        (ChordMark, {"offset": "1/0", "symbol": "G"}),
        (ChordMark, {"offset": 0.5, "symbol": "G"}),
        (Event, {"duration": 4}),
        (Measure, {"events": ()}),
        (Score, {"measures": ()}),
        (Swing, {"unit": 4}),
        (HandProfile, {"span_mm": 20}),
    ],
)
def test_values_out_of_their_range(kind, fields):
    with pytest.raises(UnfitError):
        kind(**fields)


def test_a_changed_copy_is_checked_like_a_new_one():
    event = Event(duration=WHOLE, notes=(note("2.3"),))
    assert event.with_(accent=True).accent
    assert not event.accent
    with pytest.raises(ScoreError):
        event.with_(notes=(), tremolo=True)
    with pytest.raises(FrozenInstanceError):
        event.accent = True


def test_what_is_in_force_in_each_measure():
    score = music("1 | 1 | 1")
    three = Measure(events=(Event(duration=Duration.parse("2.")),), metre=Metre.parse("3/4"))
    again = Measure(events=(REST,), metre=Metre.parse("C"))
    score = Score(head=score.head, measures=(score.measures[0], three, again))
    assert list(map(str, score.metres)) == ["4/4", "3/4", "C"]
    assert score.keys == (score.head.key,) * 3
    assert score.tempos == (score.head.tempo,) * 3


def test_time_inside_a_measure():
    (measure,) = music("4. 2.3, 8 2.5, 2 3.0").measures
    assert [str(offset) for offset in measure.onsets] == ["0", "3/2", "2"]
    assert measure.length == 4
    assert measure.highest_course == 3
