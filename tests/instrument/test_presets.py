"""The family of instruments."""

from __future__ import annotations

import pytest

from tabterm.errors import InstrumentError
from tabterm.instrument import PRESETS, preset


# Standard tunings by note name (common practice), lowest course first, as MIDI numbers (60 = C4).
@pytest.mark.parametrize(
    ("word", "pitches", "names"),
    [
        ("mandolin", (55, 62, 69, 76), "G3 D4 A4 E5"),
        ("mandola", (48, 55, 62, 69), "C3 G3 D4 A4"),
        ("octave-mandolin", (43, 50, 57, 64), "G2 D3 A3 E4"),
        ("octave-mandolin-octave-strung", (43, 50, 57, 64), "G2 D3 A3 E4"),
        ("mandocello", (36, 43, 50, 57), "C2 G2 D3 A3"),
        ("tenor-banjo", (48, 55, 62, 69), "C3 G3 D4 A4"),
        ("tenor-banjo-low", (43, 50, 57, 64), "G2 D3 A3 E4"),
    ],
)
def test_tunings(word, pitches, names):
    instrument = preset(word)
    assert tuple(course.pitch for course in reversed(instrument.courses)) == pitches
    assert "".join(instrument.course_letters()[::-1]).upper() == "".join(name[0] for name in names.split())


def test_every_preset_is_tested_above():
    (mark,) = test_tunings.pytestmark
    assert {word for word, *_ in mark.args[1]} == set(PRESETS)


# Ranges of scale lengths in mm: English Wikipedia, "Mandolin" (13 7/8 in) and "Tenor banjo" (19 1/2 to
# 21 1/2 in with 17 frets, 21 3/4 to 23 in with 19); banjolin.co.uk, family table, for the others.
@pytest.mark.parametrize(
    ("word", "shortest_mm", "longest_mm"),
    [
        ("mandolin", 352.4, 352.5),
        ("mandola", 400, 480),
        ("octave-mandolin", 480, 600),
        ("mandocello", 600, 680),
        ("tenor-banjo", 552, 584.3),
        ("tenor-banjo-low", 495, 546.2),
    ],
)
def test_scale_lengths_lie_in_the_published_ranges(word, shortest_mm, longest_mm):
    assert shortest_mm <= PRESETS[word].scale_length_mm <= longest_mm


def test_strings_of_the_courses():
    assert [course.octave for course in preset("octave-mandolin-octave-strung").courses] == [
        False,
        False,
        True,
        True,
    ]
    assert all(course.single for course in preset("tenor-banjo").courses)
    assert not any(course.single or course.octave for course in preset("mandolin").courses)


def test_an_unknown_word_lists_the_known_ones():
    with pytest.raises(InstrumentError, match=r"no instrument 'lute' \(one of: mandolin, mandola"):
        preset("lute")
