"""Double stops of chords and scales: against printed shapes and tables."""

from __future__ import annotations

import pytest

from tabterm.harmony.dyads import (
    along,
    degrees,
    dyad,
    dyads,
    dyads_in_words,
    in_parallel,
    moved,
    placed_dyads,
)
from tabterm.harmony.pools import pool_named
from tabterm.instrument import PRESETS
from tabterm.score.key import Key
from tabterm.score.model import ChordMark
from tabterm.score.place import Span
from tests.build import measure, score

MANDOLIN = PRESETS["mandolin"]
LETTERS = {"G": 4, "D": 3, "A": 2, "E": 1}


def at(words: str):
    """The double stop of `G5-D7`: letters of the courses with frets."""
    low, high = words.split("-")
    return dyad(MANDOLIN, (LETTERS[low[0]], int(low[1:])), (LETTERS[high[0]], int(high[1:])))


def test_all_of_a_chord_are_there_and_no_others():
    """Counted from the intervals of neighbouring courses: frets 0 to 7, at most 5 apart, different tones."""
    count = {"G": 10, "G7": 17, "A": 11, "Am": 11}
    for symbol, expected in count.items():
        assert len(dyads(pool_named(symbol), MANDOLIN, highest=7)) == expected, symbol
    listed = "G0-D0 G4-D0 G4-D5 G7-D5 D0-A2 D5-A2 D5-A5 A2-E3 A5-E3 A5-E7"
    assert set(dyads(pool_named("G"), MANDOLIN, highest=7)) == set(map(at, listed.split()))


PRINTED = {
    "G5-D7": ("major sixth", "1-6", "C major"),
    "D10-A12": ("major sixth", "1-6", "C major"),
    "A3-E5": ("major sixth", "1-6", "C major"),
    "D10-A7": ("major third", "1-3", "C"),
    "G5-D2": ("major third", "1-3", "C"),
    "A3-E0": ("major third", "1-3", "C"),
}
"""Sixths C-A and thirds C-E as mandozine.com prints them ("Sixths", "Thirds")."""


@pytest.mark.parametrize(("words", "told"), PRINTED.items())
def test_printed_shapes_are_found_and_named(words, told):
    family, expected, pool = told
    pair = at(words)
    assert (pair.family, degrees(pair, pool_named(pool))) == (family, expected)
    assert pair in dyads(pool_named(pool), MANDOLIN)


def test_the_shapes_of_the_major_chord_have_the_names_of_the_method():
    """Short: 2 frets, a fourth; medium: 3 frets, a major third; long: 4 frets, a minor third (J. Treacy,
    johntreacy.com). A minor sixth is the third on the lower course and the root one fret up on the next."""
    shapes = {
        "D7-A5": ("2 frets back, short", "fourth", "5-1"),
        "D5-A2": ("3 frets back, medium", "major third", "1-3"),
        "D9-A5": ("4 frets back, long", "minor third", "3-5"),
        "D9-A10": ("1 fret up", "minor sixth", "3-1"),
        "D5-A5": ("same fret", "fifth", "1-5"),
    }
    chords = {"5-1": "D", "1-3": "G", "3-5": "G", "3-1": "G", "1-5": "G"}
    for words, (shape, family, pair) in shapes.items():
        assert (at(words).shape, at(words).family) == (shape, family), words
        assert degrees(at(words), pool_named(chords[pair])) == pair, words


def test_intervals_are_those_of_the_table_whatever_the_frets():
    """Seven semitones and the difference of the frets, fourteen over a course between."""
    for low in range(8):
        for high in range(8):
            assert dyad(MANDOLIN, (3, low), (2, high)).interval == 7 + high - low
            assert dyad(MANDOLIN, (4, low), (2, high)).interval == 14 + high - low
    assert at("G2-A0").family == "octave"
    assert dyad(MANDOLIN, (4, 0), (2, 2)).family == "major tenth"


def test_sixths_along_a_scale_have_two_shapes_in_the_order_of_its_degrees():
    """+2 on degrees 1, 2, 4, 5 of the lower note, +1 on 3, 6, 7; thirds -3 on 1, 4, 5, and -4 on the others."""
    pool = pool_named("C major")
    differences = [along(at("G5-D7"), pool, MANDOLIN, steps).difference for steps in range(7)]
    assert differences == [2, 2, 1, 2, 2, 1, 1]
    thirds = [along(at("G5-D2"), pool, MANDOLIN, steps).difference for steps in range(7)]
    assert thirds == [-3, -4, -4, -3, -3, -4, -4]
    assert along(at("G5-D2"), pool, MANDOLIN, -3) is None
    assert along(at("G6-D2"), pool, MANDOLIN, 1) is None


def test_what_a_move_by_frets_does_to_the_chord():
    """Common practice, no source: two frets down over the fifth chord is a whole tone down, its second and b7; the
    tritone of a dominant one fret down is that of the dominant a fifth below."""
    down = moved(at("A9-E10"), "D7", MANDOLIN, -2)
    assert degrees(at("A9-E10"), pool_named("D7")) == "3-1"
    assert (down.sounds, down.degrees, down.dyad) == ("C7", "2-b7", at("A7-E8"))
    tritone = at("D4-A3")
    assert degrees(tritone, pool_named("D7")) == "3-b7"
    lower = in_parallel(tritone, MANDOLIN, -1)
    assert degrees(lower, pool_named("G7")) == "b7-3"
    assert degrees(dyad(MANDOLIN, (2, 4), (1, 3)), pool_named("A7")) == "3-b7"
    assert moved(at("D4-A3"), "D7", MANDOLIN, -4) is None
    assert moved(at("D4-A3"), "N.C.", MANDOLIN, 1) is None


def test_the_double_stops_of_a_solo_are_found_with_degrees_and_moves():
    built = score(
        measure("4 1.10 2.9,4 1.8 2.7,4 1.10 2.9,4 2.0", chords=(ChordMark(offset="0", symbol="D7"),)),
        measure("4 1.5 2.3,4 1.7 2.5,4 1.8 2.7,4 x1.0 x2.0", chords=(ChordMark(offset="0", symbol="C"),)),
        key=Key.parse("G"),
    )
    found = placed_dyads(built, Span.of_measures(0, 1))
    assert [(str(each.dyad), each.degrees, each.move) for each in found] == [
        ("9-10", "3-1", ""),
        ("7-8", "2-b7", "2 frets down"),
        ("9-10", "3-1", "2 frets up"),
        ("3-5", "1-6", ""),
        ("5-7", "2-7", "2 frets up"),
        ("7-8", "3-1", "along the scale"),
    ]
    assert dyads_in_words(found[:3]) == (
        "The double stops are minor sixths: 3-1 and 2-b7 of D7, moved 2 frets down and 2 frets up."
    )
    assert not dyads_in_words(found[:1])
