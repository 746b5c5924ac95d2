"""The table of chord shapes under a hand, and the nearest shape for a chord of another instrument."""

from __future__ import annotations

from itertools import islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.hand.bands import is_strained
from tabterm.hand.neck import neck_of
from tabterm.hand.player import Player
from tabterm.hand.shapes import nearest, table, tones_of
from tabterm.harmony.chords import parse_chord
from tabterm.harmony.voicings import Sort
from tabterm.instrument import PRESETS, parse_pitch
from tabterm.score.model import Head
from tabterm.score.profile import HandProfile
from tests.build import PLAYER

NECK = neck_of(Head(), PLAYER)


def pitches(names):
    return [parse_pitch(name) for name in names.split()]


TAUGHT = {
    "G3 B3 D4 G4 B4 G5": "0-0-2-3",
    "C4 E4 G4 C5 E5": "0-2-3-0",
    "D4 A4 D5 F#5": "2-0-0-2",
    "A3 E4 A4 C#5 E5": "2-2-4-0",
    "A3 E4 A4 C5 E5": "2-2-3-0",
    "E3 B3 E4 G4 B4 E5": "0-2-2-0",
    "E3 B3 E4 G#4 B4 E5": "1-2-2-0",
    "F3 C4 F4 A4 C5 F5": "5-3-0-1",
    "D4 A4 D5 F5": "2-0-0-1",
    "G3 D4 G4 Bb4 D5 G5": "0-0-1-3",
    "G3 B3 D4 G4 B4 F5": "0-0-2-1",
    "B3 F4 G5": "x-3-2-3",
    "C4 E4 G4 C5": "0-2-3-x",
}
"""What a student is told to play for a guitarist's first chords, an octave up (common practice, no source)."""


@pytest.mark.parametrize(("names", "shape"), TAUGHT.items())
def test_the_nearest_shape_is_the_one_that_a_student_is_told(names, shape):
    assert str(next(nearest(NECK, pitches(names))).voicing) == shape


def test_a_hand_that_is_higher_on_the_neck_takes_the_nearer_shape():
    """E minor under E5: open in first position, from fret 5 with the hand there (common practice, no source)."""
    for fret, shape in ((2, "0-2-2-0"), (7, "4-5-2-0")):
        found = nearest(NECK, pitches("B3 E4 G4 B4 E5"), at_mm=NECK.mm(fret))
        assert str(next(found).voicing) == shape


def test_a_long_neck_has_its_own_shapes():
    """Common practice, no source: on an octave mandolin G is open, or 4-5-5-3; 7-5-2-3 is beyond a hand there."""
    long = table(neck_of(Head(instrument=PRESETS["octave-mandolin"]), PLAYER), parse_chord("G"))
    first = {sort: next(str(each.voicing) for each in long if each.voicing.sort is sort) for sort in Sort}
    assert (first[Sort.OPEN], first[Sort.CLOSED]) == ("0-0-2-3", "4-5-5-3")
    assert "7-5-2-3" not in [str(each.voicing) for each in long]


def test_fingers_of_first_chords():
    """Common practice, no source."""
    fingers = {"G": (0, 0, 1, 2), "C": (0, 1, 2, 0), "Am": (1, 1, 2, 0), "G7": (0, 0, 2, 1), "E7": (1, 0, 2, 0)}
    found = {symbol: table(NECK, parse_chord(symbol))[0].held.fingers[::-1] for symbol in fingers}
    assert found == fingers


@pytest.mark.parametrize(("symbol", "count"), [("G", 10), ("G7", 17), ("A", 11), ("Am", 11)])
def test_double_stops_of_a_chord(symbol, count):
    """By definition: two neighbouring courses, frets 0 to 7, at most five apart, two tones of the chord."""
    places = {shape.held.places for shape in table(NECK, parse_chord(symbol)) if len(shape.held.places) == 2}
    chord = parse_chord(symbol)
    tones = {chord.tone(interval) for interval in chord.intervals}
    defined = {
        ((course, high), (course + 1, low))
        for course in (1, 2, 3)
        for high in range(8)
        for low in range(8)
        if abs(high - low) <= 5
        and len({NECK.instrument.pitch(course, high) % 12, NECK.instrument.pitch(course + 1, low) % 12} & tones)
        == 2
    }
    assert len(defined) == count
    assert defined <= places


def test_a_chord_in_force_tells_the_third_and_the_seventh():
    assert tones_of(pitches("B3 D4 F4"), parse_chord("G7")).third == 4
    assert tones_of(pitches("B3 D4 F4")).root == parse_pitch("B3") % 12
    assert tones_of(pitches("C4 C#4 D4")).root == parse_pitch("C4") % 12


@settings(max_examples=30, deadline=None)
@given(
    st.sets(st.integers(50, 88), min_size=2, max_size=7),
    st.sampled_from(sorted(PRESETS)),
    st.integers(115, 175),
    st.sampled_from([None, 0.0, 150.0]),
)
def test_the_nearest_shape_keeps_the_melody_and_never_strains_the_hand(chord, name, span_mm, at_mm):
    neck = neck_of(Head(instrument=PRESETS[name]), Player(hand=HandProfile(span_mm=span_mm)))
    for shape in islice(nearest(neck, chord, at_mm=at_mm), 3):
        assert [neck.instrument.pitch(*place) for place in shape.held.places] == list(shape.pitches)
        assert shape.pitches[0] == max(chord) == max(shape.pitches)
        assert {pitch % 12 for pitch in shape.pitches} <= {pitch % 12 for pitch in chord}
        assert len(shape.pitches) <= len(chord)
        down = sorted(zip(shape.held.fingers, shape.held.places, strict=True))
        fingers = [(finger, neck.mm(fret)) for finger, (_, fret) in down if finger]
        assert [bool(fret) for _, fret in shape.held.places] == [bool(finger) for finger in shape.held.fingers]
        if len(fingers) > 1 and fingers[0][0] != fingers[-1][0]:
            reach_mm = fingers[-1][1] - fingers[0][1]
            assert not is_strained((fingers[0][0], fingers[-1][0]), reach_mm, span_mm)


def test_a_small_hand_has_fewer_shapes_and_every_sort_is_there():
    small = table(neck_of(Head(), Player(hand=HandProfile(span_mm=115))), parse_chord("F"))
    usual = table(NECK, parse_chord("F"))
    assert len(small) < len(usual)
    assert {shape.voicing.sort for shape in usual} == set(Sort)
