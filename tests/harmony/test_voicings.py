"""Chord shapes: nothing but chord tones, what no hand finds hard, and shapes that players know."""

from __future__ import annotations

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.hand.bands import BANDS, TOLERANCE
from tabterm.hand.review import Severity, findings
from tabterm.harmony.chords import QUALITIES, parse_chord
from tabterm.harmony.voicings import (
    FRETS,
    KEPT,
    MOST_NOTES,
    MOVE_MM,
    REACHES_MM,
    _fingers,
    moved_mm,
    shapes,
    smoothest,
)
from tabterm.instrument import PRESETS, Instrument, fret_distance_mm
from tabterm.instrument.model import Course
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, score
from tests.hand.chords import USUAL, rank_of

ROOTS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
MANDOLIN = PRESETS["mandolin"]
chords = st.builds(
    lambda root, names: parse_chord(root + names[0]), st.sampled_from(ROOTS), st.sampled_from(sorted(QUALITIES))
)
few = settings(max_examples=60, deadline=None)


def named(symbol, instrument=MANDOLIN, **how):
    return [str(each) for each in shapes(parse_chord(symbol), instrument, **how)]


@few
@given(chords, st.sampled_from(sorted(PRESETS)), st.booleans())
def test_every_shape_is_made_of_chord_tones_and_tells_the_chord(chord, name, ringing):
    instrument = PRESETS[name]
    found = shapes(chord, instrument, ringing=ringing)
    assert found
    for voicing in found:
        courses = [course for course, _ in voicing.notes]
        pitches = [pitch for _, pitch in voicing.notes]
        told = {(pitch - chord.root) % 12 for pitch in pitches}
        assert told <= set(chord.intervals)
        assert courses == list(range(courses[0], courses[-1] + 1))
        assert len(courses) <= MOST_NOTES
        assert len(set(pitches)) == len(pitches)
        assert all(instrument.pitch(c, voicing.frets[c - 1]) == pitch for c, pitch in voicing.notes)
        assert ringing or 0 not in voicing.frets
        assert max(fret or 0 for fret in voicing.frets) <= FRETS
        if len(courses) > 2:
            assert chord.third is None or chord.third in told
            assert 0 in told or {chord.third, chord.seventh} <= told
        else:
            assert chord.third is None or instrument.scale_length_mm > 500  # bare fifths on long necks


HELD = ("", "m", "7", "maj7", "m7", "m7b5", "dim7", "6", "aug", "9", "sus4")


def best_of(name, *, ringing):
    """The four best shapes of usual chords."""
    for root, quality in product(ROOTS[::2], HELD):
        yield from shapes(parse_chord(root + quality), PRESETS[name], ringing=ringing)[:4]


@pytest.mark.parametrize("name", ["mandolin", "octave-mandolin", "mandocello", "tenor-banjo"])
def test_no_stopped_shape_is_hard_and_no_ringing_one_impossible(name):
    """The project's model of the hand, with its own search for fingers."""
    held = [(ringing, each) for ringing in (False, True) for each in best_of(name, ringing=ringing)]
    lines = ["2 " + " ".join(f"{c}.{each.frets[c - 1]}" for c, _ in each.notes) + ",2" for _, each in held]
    found = findings(score(*lines, instrument=PRESETS[name], tempo=Tempo(40.0)), PLAYER)
    assert [
        (each.code, str(held[each.place.measure][1]))
        for each in found
        if not held[each.place.measure][0] or each.severity is Severity.IMPOSSIBLE
    ] == []


def test_the_reaches_are_those_of_the_hand():
    """`tabterm.hand.bands`, where their sources are; within four fingers up to what it still tolerates."""
    for fingers, band in BANDS.items():
        assert band.comfortable_mm <= REACHES_MM[fingers] <= TOLERANCE * band.comfortable_mm + 0.1


@few
@given(
    chords,
    st.lists(st.integers(40, 76), min_size=2, max_size=6, unique=True),
    st.floats(250.0, 700.0),
    st.integers(0, 7),
)
def test_any_tuning_and_capo(chord, opens, scale_length_mm, capo):
    """With a capo the open courses are higher and the neck is shorter; the rule is the same."""
    courses = tuple(Course(pitch=pitch + capo) for pitch in sorted(opens, reverse=True))
    left_mm = scale_length_mm - fret_distance_mm(scale_length_mm, capo)
    instrument = Instrument(name="x", courses=courses, frets=15, scale_length_mm=left_mm)
    for voicing in shapes(chord, instrument, ringing=True):
        assert {(pitch - chord.root) % 12 for _, pitch in voicing.notes} <= set(chord.intervals)
        stopped = [fret_distance_mm(left_mm, fret) for fret in voicing.frets if fret]
        assert not stopped or max(stopped) - min(stopped) <= REACHES_MM[1, 4]


KNOWN = {
    "G": "7-5-2-3", "C": "5-2-3-x", "D": "7-4-5-x", "A": "2-2-4-5", "E": "4-2-2-4", "B": "4-1-2-2",
    "Am": "2-2-3-5", "Em": "4-2-2-3", "Dm": "7-3-5-x", "Gm": "7-5-5-6", "G7": "4-3-2-3", "A7": "2-2-4-3",
    "D7": "5-4-5-5", "B7": "2-1-2-2", "C7": "3-2-3-3", "Am7": "2-2-3-3", "Bdim7": "4-3-5-4",
}  # fmt: skip
"""Shapes without open courses, lowest course first (common practice, no source). That of G, all courses stopped,
D, G, B and G: sweetmusicstudio.net, "Mandolin chord chart and suggestions for learning chords"."""


@pytest.mark.parametrize(("symbol", "shape"), [*KNOWN.items(), *USUAL])
def test_shapes_that_players_know_are_among_the_six_best_of_their_sort(symbol, shape):
    assert 1 <= rank_of(symbol, shape) <= 6


def test_most_shapes_that_players_know_are_the_first_or_second_of_their_sort():
    """Not all can be the first: of C and D two three-note shapes are known."""
    ranks = [rank_of(*each) for each in USUAL]
    assert ranks.count(1) >= 0.65 * len(USUAL)
    assert sum(rank <= 2 for rank in ranks) >= 0.85 * len(USUAL)


def test_the_first_choice_of_the_chords_that_every_player_chops():
    chopped = ("G", "A", "E", "B", "Am", "Em", "A7", "B7", "C7", "Am7", "Bdim7")
    assert {symbol: named(symbol)[0] for symbol in chopped} == {symbol: KNOWN[symbol] for symbol in chopped}


def test_one_finger_lies_across_higher_ones():
    """D 2-4-5-2: the index finger takes the lowest and the highest course; no finger does over an open one."""
    assert "2-4-5-2" in named("D")
    assert list(_fingers((2, 5, 4, 2))) == [2, 4, 5]
    assert list(_fingers((2, 0, 4, 2))) == [2, 2, 4]
    assert list(_fingers((4, 2, 4, 4))) == [2, 4, 4]


def test_ringing_shapes_use_open_courses():
    """First chords of every method for the instrument (common practice, no source)."""
    assert [named(symbol, ringing=True)[0] for symbol in ("G", "D")] == ["0-0-2-3", "2-0-0-2"]
    assert "0-2-3-0" in named("C", ringing=True)[:6]


@few
@given(st.lists(chords, min_size=1, max_size=3))
def test_no_other_way_through_the_best_shapes_costs_less(line):
    layers = [shapes(chord, MANDOLIN) for chord in line]
    mm = [fret_distance_mm(MANDOLIN.scale_length_mm, fret) for fret in range(FRETS + 1)]

    def cost(way):
        moves = sum(moved_mm(one, other, mm) / MOVE_MM for one, other in pairwise(way))
        return moves + sum(each.cost for each in way)

    assert cost(smoothest(layers, MANDOLIN)) == pytest.approx(
        min(map(cost, product(*(layer[:KEPT] for layer in layers))))
    )


@few
@given(st.lists(st.none() | chords, max_size=12))
def test_a_progression_gets_a_shape_of_each_chord_and_none_for_silence(line):
    layers = [shapes(chord, MANDOLIN) if chord else () for chord in line]
    chosen = smoothest(layers, MANDOLIN)
    assert len(chosen) == len(line)
    for layer, voicing in zip(layers, chosen, strict=True):
        assert (voicing in layer) if layer else voicing is None


def test_a_chord_without_third_and_fifth_is_its_root():
    found = shapes(parse_chord("C5no5"), MANDOLIN)
    assert {pitch % 12 for each in found for _, pitch in each.notes} == {0}


def test_other_numbers_of_courses_and_no_chord():
    def instrument(count):
        courses = tuple(Course(pitch=76 - 7 * number) for number in range(count))
        return Instrument(name="x", courses=courses, frets=12, scale_length_mm=350.0)

    for count in (1, 2, 3, 5, 8):
        found = shapes(parse_chord("G7"), instrument(count))
        assert all(len(each.frets) == count for each in found)
        assert bool(found) == (count > 1)
    assert shapes(parse_chord("N.C."), MANDOLIN) == ()
