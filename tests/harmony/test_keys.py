"""Keys and chords that nobody told: against printed collections, an independent library and hand-made cases."""

from __future__ import annotations

import pytest

from tabterm.harmony.harmonising import candidates, proposals
from tabterm.harmony.keys import key_guesses, regions
from tabterm.score.key import Key, mode_tones
from tabterm.score.model import Head
from tabterm.score.operations import transpose
from tabterm.score.place import Span
from tests.build import music
from tests.harmony import tunes

SCALE = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.4,8 2.5"
IN_D = f"{SCALE} | 4 2.5,4 2.4,4 2.2,4 2.0 | 4 3.5,4 3.4,4 3.2,4 2.0 | 1 3.0"
"""The scale of D, up and down, and home."""


@pytest.mark.parametrize("mode", ["major", "minor", "dorian", "mixolydian"])
def test_scales_are_those_of_an_independent_library(mode):
    """music21 (Cuthbert and Ariza 2010, ISMIR)."""
    scales = pytest.importorskip("music21.scale", reason="music21 is not installed: it has the scales")
    theirs = getattr(scales, f"{mode.title()}Scale")("C").getPitches("C4", "B4")
    assert mode_tones(mode) == tuple(pitch.pitchClass for pitch in theirs)


def test_most_keys_of_printed_tunes_are_found():
    """One tune in 60 of the three collections; of one in 20, twice, 90 and 91 % are the first guess (`tunes`)."""
    pytest.importorskip("music21", reason="music21 is not installed: it ships the collections")
    places = [place for _, _, place, _ in tunes.keys(60, 11)]
    assert len(places) >= 50
    assert sum(place == 0 for place in places) >= 0.85 * len(places)
    assert sum(place <= 1 for place in places) >= 0.9 * len(places)


def test_chords_of_open_tunes_are_found_in_the_best_two():
    """Two reels of the Nottingham Music Database and two lead sheets, as music21 ships them."""
    pytest.importorskip("music21", reason="music21 is not installed: it ships the tunes")
    found = [
        chord in list(dict.fromkeys(tunes.plain(tunes.parse_chord(each.symbol)) for each in ranked))[:2]
        for _, _, chord, _, ranked in tunes.chords()
    ]
    assert len(found) >= 80
    assert sum(found) >= 0.8 * len(found)


def test_the_key_comes_with_its_reasons():
    first, *_ = key_guesses(music(IN_D))
    assert str(first.key) == "D"
    assert first.reasons == ("100% of the melody is in its scale", "it ends on D")
    assert not key_guesses(music("1"))


def test_music_that_moves_up_a_step_is_in_two_keys():
    """Eight measures in D, then the same in E; a relative key is no modulation."""
    both = music(" | ".join([IN_D] * 4), key=Key.parse("D"))
    moved = transpose(both, Span.of_measures(8, 15), 2)
    assert [(each.first, each.last, str(each.key), each.is_modulation) for each in regions(moved)] == [
        (0, 7, "D", False),
        (8, 15, "E", True),
    ]
    assert [str(each.key) for each in regions(both)] == ["D"]
    relative = both.with_(head=Head(key=Key.parse("Bm")))
    assert not any(each.is_modulation for each in regions(relative))


def test_chords_are_proposed_with_reasons():
    """G and B over the beats of G, then F sharp and A before it goes home: common practice, no source."""
    line = music("4 3.5,4 2.2,4 2.5,4 2.2 | 4 2.0,4 3.4,4 2.0,4 2.3 | 2 2.2,2 3.5", key=Key.parse("G"))
    first, second, third = proposals(line)
    assert [first[0].symbol, second[0].symbol, third[0].symbol] == ["G", "D7", "G"]
    assert first[0].reasons == ("has G B D: 100% of the measure", "leads to D7", "starts on the home chord")
    assert second[0].reasons == ("has F# A C: 100% of the measure", "leads to G")
    assert (second[0].roman, second[0].points) == ("V7", 0)
    assert len(second) == len(candidates(Key.parse("G")))
    assert [each.points for each in second] == sorted(each.points for each in second)


def test_the_chords_of_a_key_are_named_in_it():
    assert [each.symbol for each in candidates(Key.parse("Eb"))][:8] == [
        "Eb",
        "Bb",
        "Bb7",
        "Ab",
        "Fm",
        "Cm",
        "Gm",
        "Db",
    ]
    assert [each.symbol for each in candidates(Key.parse("A dorian"))][:4] == ["Am", "G", "Em", "D"]
