"""Instruments as values."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from tabterm.errors import InstrumentError
from tabterm.instrument import Course, preset

MANDOLIN = preset("mandolin")


def test_pitches_on_the_neck():
    assert MANDOLIN.course_count == 4
    assert MANDOLIN.pitch(4, 0) == 55
    assert MANDOLIN.pitch(1, 3) == 79
    assert MANDOLIN.places_of(69) == ((2, 0), (3, 7), (4, 14))
    assert MANDOLIN.places_of(54) == ()


def test_a_retuned_instrument_keeps_its_neck():
    courses = tuple(Course(pitch=pitch) for pitch in (73, 69, 64, 57))
    retuned = MANDOLIN.with_(courses=courses)
    assert retuned.places_of(69) == ((2, 0), (3, 5), (4, 12))
    assert retuned.scale_length_mm == MANDOLIN.scale_length_mm


def test_of_two_courses_with_one_letter_the_higher_is_small():
    assert MANDOLIN.course_letters() == ("E", "A", "D", "G")
    same = MANDOLIN.with_(courses=tuple(Course(pitch=pitch) for pitch in (74, 69, 62, 57)))
    assert same.course_letters() == ("d", "a", "D", "A")


def test_the_highest_fret_is_within_midi():
    with pytest.raises(InstrumentError, match="course 1 of 'Mandolin' leaves MIDI's range"):
        MANDOLIN.with_(courses=(Course(pitch=110),))


@pytest.mark.parametrize(
    "fields",
    [
        {"frets": 0},
        {"frets": 37},
        {"courses": ()},
        {"scale_length_mm": 0},
        {"scale_length_mm": float("nan")},
        {"name": ""},
        {"program": 128},
    ],
)
def test_instruments_that_cannot_be(fields):
    with pytest.raises(ValidationError):
        MANDOLIN.with_(**fields)


def test_a_course_of_one_string_is_no_octave_pair():
    with pytest.raises(InstrumentError, match="one string cannot be an octave pair"):
        Course(pitch=60, octave=True, single=True)
