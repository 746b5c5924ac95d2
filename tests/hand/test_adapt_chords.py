"""Chords thinned to what a hand holds: melody first, then the third and the seventh of the chord."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.hand.adapt import adapt
from tabterm.hand.adapt.chords import shape, thinned
from tabterm.hand.bands import Verdict, judge
from tabterm.hand.neck import neck_of
from tabterm.hand.shapes import root_of
from tabterm.harmony.chords import parse_chord
from tabterm.instrument import parse_pitch
from tabterm.score.model import ChordMark, Head
from tabterm.score.report import Kind
from tests.build import PLAYER
from tests.foreign import line

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
    ["G3 D4 B4 G5", "C4 E4 C5 E5", "A3 D4 F#5", "G4 B4", "D4 A4 F#5", "E4 G#4", "G3 D4 A4 E5"],
)
def test_what_a_hand_holds_is_kept(names):
    """Shapes of first position (common practice, no source): none of them loses a note."""
    assert thinned(NECK, pitches(names)).dropped == ()


def test_the_third_goes_before_the_fifth():
    """Under C5 the third, E4, stays; the fifth, G4, would need the same course."""
    thin = thinned(NECK, pitches("C4 E4 G4 C5"), parse_chord("C"))
    assert parse_pitch("E4") in thin.kept
    assert thin.kept[0] == parse_pitch("C5")
    assert thin.dropped == ((parse_pitch("G4"), "fifth"),)


def test_the_seventh_goes_before_the_fifth():
    thin = thinned(NECK, pitches("G4 Bb4 E5"), parse_chord("C7"))
    kept = {pitch % 12 for pitch in thin.kept}
    assert {4, 10} <= kept


def test_parallel_sixths_stay_on_their_pair_of_courses():
    """The shape goes up two frets, though the second alone would be easier on the next pair, lower down."""
    fitted = adapt(line("A#4/8 B4/8 A4/8 G4+B4/8 G#4+F5/8 A#4+G5/8 E5/8 G#4/8"), PLAYER)
    sixths = [[(note.course, note.fret) for note in event.notes] for event in fitted.score.measures[0].events[4:6]]
    assert sixths == [[(2, 8), (3, 6)], [(2, 10), (3, 8)]]


def test_what_is_left_out_is_said():
    fitted = adapt(line("C4+E4+G4+C5/1"), PLAYER)
    (done,) = [each for each in fitted.report.remarks if each.kind is Kind.LEFT_OUT]
    assert "G4 (fifth) is left out" in done.message
    assert "C5 and E4" in done.message


def test_the_chord_symbol_tells_the_third():
    plain = line("D4+F#4+A4+B4/1")
    named = plain.with_(measures=(plain.measures[0].with_(chords=(ChordMark(offset=0, symbol="Bm"),)),))
    kept = [n for event in adapt(named, PLAYER).score.measures[0].events for n in event.notes]
    assert {NECK.instrument.pitch(n.course, n.fret) % 12 for n in kept} >= {11, 2}


@settings(max_examples=150, deadline=None)
@given(st.sets(st.integers(55, 88), min_size=2, max_size=7), st.sampled_from([None, "G7", "C", "Am", "D"]))
def test_what_is_kept_can_be_played(chord, symbol):
    """The melody is always there; the rest lies on neighbouring courses, each once, within a hand."""
    top_down = tuple(sorted(chord, reverse=True))
    thin = thinned(NECK, top_down, symbol and parse_chord(symbol))
    assert thin.kept[0] == top_down[0]
    assert sorted([*thin.kept, *(pitch for pitch, _ in thin.dropped)], reverse=True) == list(top_down)
    if len(thin.kept) > 1:
        places = shape(NECK, thin.kept)
        assert [NECK.instrument.pitch(*place) for place in places] == list(thin.kept)
        assert all(other[0] - one[0] == 1 for one, other in pairwise(places))
        stopped_mm = [NECK.mm(fret) for _, fret in places if fret] or [0.0]
        assert judge((1, 4), max(stopped_mm) - min(stopped_mm), 143) not in {Verdict.EXTREME, Verdict.IMPOSSIBLE}
