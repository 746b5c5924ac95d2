"""Double stops under a hand, and melodies harmonised: always to be held, the melody kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.hand.double_stops import Harmony, harmonised, playable
from tabterm.hand.neck import neck_of
from tabterm.hand.proposals import with_hands
from tabterm.hand.review import findings
from tabterm.hand.shapes import held
from tabterm.harmony.pools import pool_named
from tabterm.instrument import PRESETS, pitch_name
from tabterm.score.key import Key
from tabterm.score.model import ChordMark, Head
from tabterm.score.place import Span
from tests.build import PLAYER, measure, music, score

NECK = neck_of(Head(), PLAYER)
LONG_NECK = neck_of(Head(instrument=PRESETS["tenor-banjo"]), PLAYER)


def sounding(built):
    """The names of the notes of each event, the highest course first."""
    pitch = built.head.instrument.pitch
    return [
        " ".join(pitch_name(pitch(*note.spot)) for note in event.notes)
        for each in built.measures
        for event in each.events
    ]


def test_what_a_hand_holds_is_less_on_a_longer_neck():
    """Shapes of four frets: 65 mm on a mandolin, 107 mm on a tenor banjo, both at the second fret."""
    pool = pool_named("G major")
    short, long = ({each.dyad[:2] for each in playable(neck, pool)} for neck in (NECK, LONG_NECK))
    assert len(long) < len(short)
    assert all(held(NECK, (high, low)) is not None for low, high in short)


def test_the_fingers_are_those_of_the_hand():
    found = {
        str(each.dyad): each.fingers
        for each in playable(NECK, pool_named("G"), highest=7)
        if each.dyad.low[0] == 3
    }
    assert found == {"0-2": (0, 1), "5-2": (3, 1), "5-5": (1, 1)}


def test_over_a_course_between_the_lower_note_is_stopped():
    """An open course cannot mute the one beside it (common practice, no source)."""
    found = playable(NECK, pool_named("G"), apart=2)
    assert found
    assert all(each.dyad.apart == 2 and each.dyad.low[1] for each in found)


TUNE = music("4 2.2,4 2.3,4 2.5,4 1.0 | 4 1.2,4 1.3,2 2.5", key=Key.parse("G"))
WHOLE = Span.of_measures(0, 1)


def test_a_melody_in_thirds_and_sixths_below_and_above():
    """B C D E F# G D in G: each note with the third or sixth of the scale (common practice, no source)."""
    expected = {
        (Harmony.THIRDS, False): "B4 G4, C5 A4, D5 B4, E5 C5, F#5 D5, G5 E5, D5 B4",
        (Harmony.SIXTHS, False): "B4 D4, C5 E4, D5 F#4, E5 G4, F#5 A4, G5 B4, D5 F#4",
        (Harmony.THIRDS, True): "D5 B4, E5 C5, F#5 D5, G5 E5, A5 F#5, B5 G5, F#5 D5",
    }
    for (harmony, above), notes in expected.items():
        found = harmonised(TUNE, PLAYER, WHOLE, harmony, above=above)
        assert (", ".join(sounding(found.score)), found.left) == (notes, ()), (harmony, above)


def test_by_chord_the_nearest_tone_that_can_be_held_goes_with_the_melody():
    built = score(
        measure("4 2.2,4 2.5,2 1.3", chords=(ChordMark(offset="0", symbol="G"),)),
        measure("2 1.2,2 2.0", chords=(ChordMark(offset="0", symbol="D7"),)),
        key=Key.parse("G"),
    )
    found = harmonised(built, PLAYER, WHOLE, Harmony.CHORD)
    assert sounding(found.score) == ["B4 G4", "D5 B4", "G5 D5", "F#5 D5", "A4 F#4"]


def test_the_leading_note_of_the_chord_goes_with_minor():
    """A third below B over E7 in A minor is G sharp."""
    built = score(measure("1 2.2", chords=(ChordMark(offset="0", symbol="E7"),)), key=Key.parse("Am"))
    assert sounding(harmonised(built, PLAYER, WHOLE, Harmony.THIRDS).score) == ["B4 G#4"]


def test_what_is_slurred_or_has_no_partner_stays_alone_and_is_told():
    built = music("8 2.2,8 h2.3,4 4.0,2 2.5 | 2 (2.5,2", key=Key.parse("G"))
    found = harmonised(built, PLAYER, WHOLE, Harmony.THIRDS)
    assert sounding(found.score) == ["B4 G4", "C5", "G3", "D5 B4", "D5 B4", ""]
    assert [(each.measure, each.offset) for each in found.left] == [(0, 0.5), (0, 1)]
    tied = found.score.measures[1].events[0].notes
    assert all(note.tied for note in tied)


def _hard(built):
    found = findings(with_hands(built, PLAYER), PLAYER)
    return {(each.place, each.code) for each in found if each.severity in {"hard", "impossible"}}


@pytest.mark.parametrize("word", ["mandolin", "octave-mandolin"])
@given(
    notes=st.lists(st.tuples(st.integers(1, 4), st.integers(0, 9)), min_size=4, max_size=4),
    harmony=st.sampled_from(Harmony),
    above=st.booleans(),
)
def test_whatever_is_harmonised_can_be_held_and_keeps_its_melody(word, notes, harmony, above):
    """By the hand's own search: nothing impossible or hard to hold in what was made, at an easy tempo."""
    built = music(",".join(f"4 {course}.{fret}" for course, fret in notes), instrument=PRESETS[word])
    found = harmonised(built, PLAYER, Span.of_measures(0, 0), harmony, above=above).score
    pitch, neck = found.head.instrument.pitch, neck_of(found.head, PLAYER)
    for before, event in zip(built.measures[0].events, found.measures[0].events, strict=True):
        pitches = [pitch(*note.spot) for note in event.notes]
        assert pitch(*before.notes[0].spot) == (min if above else max)(pitches)
        assert held(neck, tuple(note.spot for note in event.notes)) is not None
    assert _hard(found) <= _hard(built)
