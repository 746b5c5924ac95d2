"""Chords in shapes that a hand holds: the melody on top, each tone once, third and seventh before others."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.hand.adapt import adapt
from tabterm.hand.adapt.chords import fitted
from tabterm.hand.bands import Verdict, judge
from tabterm.hand.neck import neck_of
from tabterm.hand.shapes import root_of
from tabterm.harmony.chords import parse_chord
from tabterm.instrument import parse_pitch
from tabterm.score.comparison import differences
from tabterm.score.model import ChordMark, Head
from tabterm.score.report import Kind
from tests.build import PLAYER
from tests.foreign import line
from tests.hand.chords import GUITAR, SOLO, played
from tests.thorough import many

NECK = neck_of(Head(), PLAYER)


def pitches(names):
    return tuple(sorted((parse_pitch(name) for name in names.split()), reverse=True))


@pytest.mark.parametrize(
    ("names", "symbol", "root"),
    [
        ("C4 E4 G4", None, 0),
        ("B3 D4 F4 G4", None, 7),
        ("F4 B4", "G7", 7),
        ("C4 Eb4 Gb4 A4", "Adim7", 9),
        ("E4 G4 C5", None, 0),
        ("C4 C#4 D4 Eb4", None, None),
    ],
)
def test_roots(names, symbol, root):
    """Qualities after Harte et al. 2005 (ISMIR)."""
    assert root_of(pitches(names), symbol and parse_chord(symbol)) == root


@pytest.mark.parametrize(
    "names",
    ["G3 D4 B4 G5", "G4 B4", "D4 A4 F#5", "E4 G#4", "E5 A5", "A4 D5", "D4 A4", "A4 E5", "C5 G5", "B4 G5"],
)
def test_what_a_hand_holds_is_kept(names):
    """Shapes of first position, fourths, fifths and sixths of a solo (common practice, no source)."""
    assert fitted(NECK, pitches(names)).pitches == pitches(names)


@pytest.mark.parametrize("chords", [SOLO, GUITAR], ids=["fourths and fifths", "a guitar in first position"])
def test_a_chord_gets_the_shape_that_a_student_is_told(chords):
    assert played(chords) == list(chords.values())


def test_each_tone_of_the_chord_is_there_and_what_has_moved_is_said():
    """Under C5 the fifth comes in as the open G: as G4 it would need the course of the third."""
    fitted_line = adapt(line("C4+E4+G4+C5/1"), PLAYER)
    (done,) = [each for each in fitted_line.report.remarks if each.place is not None]
    assert (done.kind, done.message) == (
        Kind.RESHAPED,
        "the chord C4 E4 G4 C5 is played 0-2-3-x: G3 E4 C5",
    )
    assert fitted_line.report.summary == "4 notes fitted to the Mandolin: 1 chord in the nearest shape"


def test_a_chord_that_comes_again_is_told_once():
    """A song has few chords, and each of them many times."""
    told = adapt(line(" | ".join(["C4+E4+G4+C5/2 D4+F#4+A4+D5/2"] * 4)), PLAYER).report
    assert [each.message.split(" is ")[0] for each in told.remarks] == [
        "the chord C4 E4 G4 C5",
        "the chord D4 F#4 A4 D5",
    ]
    assert told.summary.endswith("2 chords in the nearest shape")


def test_a_tone_that_a_chord_has_once_is_not_said_to_be_left_out():
    """Of a guitarist's six strings the shape has four: what departs is a tone in another octave, not a double."""
    found = adapt(line(" | ".join(f"{chord}/1" for chord in GUITAR)), PLAYER).score
    assert {str(each.kind) for each in differences(found)} == {"in a lower octave"}
    assert len(differences(found)) == 3


@pytest.mark.parametrize("symbol", ["G7", "C7", "D7", "A7", "E7"])
def test_the_third_and_the_seventh_are_never_lost(symbol):
    """A chord of all four tones under any of them as the melody, wherever it lies."""
    chord = parse_chord(symbol)
    for top in range(72, 86):
        if (top - chord.root) % 12 in chord.intervals:
            below = [pitch for pitch in range(48, top) if (pitch - chord.root) % 12 in chord.intervals]
            found = fitted(NECK, (top, *reversed(below)), chord)
            told = {(pitch - chord.root) % 12 for pitch in found.pitches}
            assert {chord.third, chord.seventh} <= told


def test_a_chord_that_is_tied_stays():
    held = adapt(line("D4/4 E4/4 E3+B3+E4+G4/2 | (E3+B3+E4+G4/2 A5/2"), PLAYER).score
    first, second = held.measures[0].events[2], held.measures[1].events[0]
    assert [note.spot for note in first.notes] == [note.spot for note in second.notes]
    assert all(note.tied for note in second.notes)


def test_parallel_sixths_stay_on_their_pair_of_courses():
    """The shape goes up two frets, though the second alone would be easier on the next pair, lower down."""
    fitted = adapt(line("A#4/8 B4/8 A4/8 G4+B4/8 G#4+F5/8 A#4+G5/8 E5/8 G#4/8"), PLAYER)
    sixths = [[(note.course, note.fret) for note in event.notes] for event in fitted.score.measures[0].events[4:6]]
    assert sixths == [[(2, 8), (3, 6)], [(2, 10), (3, 8)]]


def test_what_is_left_out_is_said():
    """Seven tones are more than four courses."""
    fitted_line = adapt(line("C4+D4+E4+F4+G4+A4+B4/1"), PLAYER)
    left_out = [each.message for each in fitted_line.report.remarks if each.kind is Kind.LEFT_OUT]
    assert len(left_out) == 7 - len(fitted_line.score.measures[0].events[0].notes)
    assert all("is left out: no hand can play it with B4" in each for each in left_out)


def test_the_chord_symbol_tells_the_third():
    plain = line("D4+F#4+A4+B4/1")
    named = plain.with_(measures=(plain.measures[0].with_(chords=(ChordMark(offset=0, symbol="Bm"),)),))
    kept = [n for event in adapt(named, PLAYER).score.measures[0].events for n in event.notes]
    assert {NECK.instrument.pitch(n.course, n.fret) % 12 for n in kept} >= {11, 2}


@settings(max_examples=many(25, 60), deadline=None)
@given(st.sets(st.integers(55, 88), min_size=2, max_size=7), st.sampled_from([None, "G7", "C", "Am", "D"]))
def test_what_is_kept_can_be_played(chord, symbol):
    """The melody is always on top; the rest lies on neighbouring courses, and every tone is played or said."""
    top_down = tuple(sorted(chord, reverse=True))
    found = fitted(NECK, top_down, symbol and parse_chord(symbol))
    assert found.pitches[0] == top_down[0] == max(found.pitches)
    assert [NECK.instrument.pitch(*place) for place in found.places] == list(found.pitches)
    sounding, lost = ({pitch % 12 for pitch in row} for row in (found.pitches, [pitch for pitch, _ in found.lost]))
    assert sounding | lost == {pitch % 12 for pitch in chord}
    assert not sounding & lost
    if len(found.places) > 1:
        assert all(other[0] - one[0] == 1 for one, other in pairwise(found.places))
        stopped_mm = [NECK.mm(fret) for _, fret in found.places if fret] or [0.0]
        assert judge((1, 4), max(stopped_mm) - min(stopped_mm), 143) not in {Verdict.EXTREME, Verdict.IMPOSSIBLE}
