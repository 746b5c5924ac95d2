"""Instruments as values."""

from __future__ import annotations

import pytest

from tabterm.errors import InstrumentError
from tabterm.instrument import (
    PRESETS,
    Course,
    fret_distance_mm,
    parse_pitch,
    pitch_name,
    preset,
    stretch_mm,
)
from tabterm.judge import UnfitError

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
    with pytest.raises(InstrumentError, match="course 1 of 'Mandolin' goes beyond MIDI's range"):
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
    with pytest.raises(UnfitError):
        MANDOLIN.with_(**fields)


def test_a_course_of_one_string_is_no_octave_pair():
    with pytest.raises(InstrumentError, match="one string cannot be an octave pair"):
        Course(pitch=60, octave=True, single=True)


# Distance nut to fret as a part of the scale length: noah.org, "fret positioning", rev. 2015-04-18, table.
PUBLISHED_FACTORS = (
    0.056126, 0.109101, 0.159104, 0.206291, 0.250847, 0.292893, 0.332580, 0.370039,
    0.405396, 0.438769, 0.470268, 0.500000, 0.528063, 0.554551, 0.579552, 0.603150,
    0.625423, 0.646447, 0.666290, 0.685020, 0.702698, 0.719385, 0.735134, 0.750000,
)  # fmt: skip

# Martin Koch, Building Electric Guitars, "Calculating fret distances - The fret constant 17.817".
FRET_CONSTANT = 17.817


@pytest.mark.parametrize("word", list(PRESETS))
@pytest.mark.parametrize("fret", range(1, 25))
def test_the_published_table_on_every_neck(word, fret):
    # Six figures of the factor leave up to half a millionth of the scale length.
    scale_length_mm = PRESETS[word].scale_length_mm
    expected = PUBLISHED_FACTORS[fret - 1] * scale_length_mm
    assert fret_distance_mm(scale_length_mm, fret) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("fret", range(1, 25))
def test_each_gap_is_the_rest_of_the_string_by_the_fret_constant(fret):
    rest_mm = 352.425 - fret_distance_mm(352.425, fret - 1)
    assert stretch_mm(352.425, fret - 1, fret) == pytest.approx(rest_mm / FRET_CONSTANT, abs=0.01)


def test_a_stretch_is_the_distance_between_two_frets():
    published_mm = (PUBLISHED_FACTORS[6] - PUBLISHED_FACTORS[1]) * 352.425
    assert stretch_mm(352.425, 2, 7) == pytest.approx(published_mm, abs=0.01)
    assert stretch_mm(352.425, 7, 2) == -stretch_mm(352.425, 2, 7)
    assert fret_distance_mm(352.425, 0) == 0


# Scientific pitch notation: C4 is middle C; MIDI 1.0 numbers it 60, and A4 (440 Hz) 69.
@pytest.mark.parametrize(
    ("name", "pitch"), [("C4", 60), ("A4", 69), ("G3", 55), ("E5", 76), ("C-1", 0), ("G9", 127), ("F#4", 66)]
)
def test_names_and_numbers(name, pitch):
    assert parse_pitch(name) == pitch
    assert pitch_name(pitch) == name


@pytest.mark.parametrize(("name", "pitch"), [("Bb2", 46), ("cb4", 59), (" g3 ", 55), ("B#3", 60), ("F##4", 67)])
def test_other_spellings(name, pitch):
    assert parse_pitch(name) == pitch


@pytest.mark.parametrize("name", ["", "H4", "G", "G#b4", "G10", "Cb-1", "A9"])
def test_what_is_no_pitch(name):
    with pytest.raises(InstrumentError):
        parse_pitch(name)


def test_every_number_has_a_name_that_is_read_back():
    assert [parse_pitch(pitch_name(pitch)) for pitch in range(128)] == list(range(128))
