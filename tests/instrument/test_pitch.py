"""Pitches by name."""

from __future__ import annotations

import pytest

from tabterm.errors import InstrumentError
from tabterm.instrument import parse_pitch, pitch_name


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
