"""The speed drills: playable, whole, free of what no hand can do, one for each speed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import InstrumentError
from tabterm.formats import native, text
from tabterm.hand.drills import PAIRS, TIMES, drills, notes_per_second
from tabterm.hand.review import Severity, findings
from tabterm.hand.strokes import with_proposals
from tabterm.instrument import PRESETS
from tabterm.performance import perform
from tabterm.score.kinds import Reached, Stroke
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tabterm.values import field_names
from tests.build import PLAYER

SET = drills(PRESETS["mandolin"], PLAYER.hand)


def drill(name):
    """The events of a drill, by the speed that its remark names."""
    first = next(number for number, each in enumerate(SET.measures) if f"{name}=TEMPO" in each.remark)
    last = next(number for number in range(first, len(SET.measures)) if SET.measures[number].repeat_times)
    return [event for each in SET.measures[first : last + 1] for event in each.events]


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(PRESETS)), st.floats(60, 220))
def test_no_hand_is_asked_for_what_it_cannot_do(word, span_mm):
    hand = HandProfile(span_mm=span_mm)
    built = with_proposals(drills(PRESETS[word], hand), PLAYER)
    own = built.with_(head=built.head.with_(hand=hand))
    assert Severity.IMPOSSIBLE not in {finding.severity for finding in findings(own, PLAYER)}


def test_the_drills_ask_nothing_hard_of_the_reference_hand():
    for instrument in PRESETS.values():
        found = findings(with_proposals(drills(instrument, PLAYER.hand), PLAYER), PLAYER)
        assert not [finding for finding in found if finding.code.startswith("reach")]


@pytest.mark.parametrize("name", field_names(Speeds))
def test_every_speed_has_a_drill_of_sixteenths_that_can_be_looped(name):
    measures = [each for each in SET.measures if f"{name}=TEMPO" in each.remark]
    assert len(measures) == 1
    assert measures[0].section
    assert measures[0].repeat_start
    assert "hurts" in measures[0].remark
    assert {str(event.duration) for event in drill(name)} == {"16"}
    assert all(note.finger is not None for event in drill(name) for note in event.notes)


def test_the_drills_stand_between_repeats_in_whole_measures():
    assert all(not each.short and each.length == 4 for each in SET.measures)
    starts = [number for number, each in enumerate(SET.measures) if each.repeat_start]
    ends = [number for number, each in enumerate(SET.measures) if each.repeat_times == TIMES]
    assert len(starts) == len(ends) == len(field_names(Speeds))
    assert [end + 1 for end in ends] == [*starts[1:], len(SET.measures)]


@pytest.mark.parametrize("pair", PAIRS)
def test_a_trill_takes_its_two_fingers_in_turn_and_a_stroke_a_beat(pair):
    events = drill(f"fingers_{pair[0]}{pair[1]}")
    notes = [event.notes[0] for event in events]
    assert [note.finger for note in notes] == list(pair) * 8
    assert len({(note.course, note.fret, note.finger) for note in notes}) == 2
    ways = (Reached.STRUCK, Reached.HAMMER, Reached.PULL, Reached.HAMMER)
    assert tuple(note.reached for note in notes) == ways * 4
    assert [event.stroke for event in events] == [Stroke.DOWN, None, None, None] * 4


@pytest.mark.parametrize(
    ("name", "courses", "strokes"),
    [
        ("strokes", [2] * 16, [Stroke.DOWN, Stroke.UP] * 8),
        ("repeated", [2] * 16, [Stroke.DOWN] * 16),
        ("course_change", [3, 2] * 8 + [2, 3] * 8, [Stroke.DOWN, Stroke.UP] * 16),
    ],
)
def test_the_right_hand_has_open_courses(name, courses, strokes):
    events = drill(name)
    assert [event.notes[0].course for event in events] == courses
    assert [event.stroke for event in events] == strokes
    assert {event.notes[0].fret for event in events} == {0}


def test_a_tempo_is_a_rate_of_sixteenths():
    """120 quarters in a minute are 2 in a second, and so 8 sixteenths."""
    assert notes_per_second(120) == 8
    assert notes_per_second(60) == 4


def test_the_drills_sound_at_the_rate_that_they_measure():
    performance = perform(SET.with_(head=SET.head.with_(tempo=Tempo(150.0))))
    struck = sorted({message.time_s for message in performance.messages if message.data[0] & 0xF0 == 0x90})
    last_drill = struck[-16 * TIMES :]
    assert len(last_drill) / notes_per_second(150) == pytest.approx(
        performance.duration_s - last_drill[0], abs=0.02
    )
    measures = len(SET.measures) * TIMES
    assert performance.duration_s == pytest.approx(measures * 16 / notes_per_second(150))


def test_the_drills_are_files():
    assert native.read(native.write(SET)) == SET
    assert text.read(text.write(SET)).music == SET


def test_what_cannot_be_played_is_refused():
    mandolin = PRESETS["mandolin"]
    for small in (mandolin.with_(frets=11), mandolin.with_(courses=mandolin.courses[:2])):
        with pytest.raises(InstrumentError, match="three courses and twelve frets"):
            drills(small, PLAYER.hand)
