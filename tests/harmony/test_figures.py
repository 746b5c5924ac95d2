"""Phrases without their key."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.harmony.figures import Figure, Tone, apart, figure_of, in_numerals
from tabterm.score.key import Key
from tabterm.score.model import ChordMark
from tabterm.score.operations import set_chord, transpose_to_key
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of
from tests.build import measure, music, score

WHOLE = Place(0)


def figure(piece, start=WHOLE, end=None):
    return figure_of(piece, Span(start, end or end_of(piece)))


def over(piece, *symbols):
    for index, symbol in enumerate(symbols):
        piece = set_chord(piece, Place(index), symbol) if symbol else piece
    return piece


PHRASE = "8 3.0, 8 3.2, 8 3.4, 8 2.0, 4 2.2, 4 2.0 | 8 3.4, 8 3.2, 2. 3.0"


def test_a_phrase_in_words():
    found = figure(
        over(
            music("< 8 3.2, 8 3.4 | 4 3.5, 4(3:2) 2.0, 4(3:2) 2.2, 4(3:2) 2.0, 4 | 2. 3.5, 4", key="G"),
            "",
            "G",
            "D7",
        )
    )
    assert found.degrees == "6 7 1 2 3 2 1"
    assert found.rhythm == "8 8 4 4t 4t 4t -4 2."
    assert found.contour == "rises and falls"
    assert found.chords == "I V"
    assert [move.at for move in found.moves] == [0, 4]


@pytest.mark.parametrize("key", ["D", "Bb", "F#", "E"])
def test_the_same_in_every_key(key):
    there = figure(transpose_to_key(music(PHRASE, key="G"), Key.parse(key)))
    here = figure(music(PHRASE, key="G"))
    assert there.identity == here.identity
    assert apart(there, here) == 0


def test_the_same_an_octave_up_on_other_courses_and_later_in_the_measure():
    here = figure(music("4 4.0, 4 4.2, 2 4.4", key="G"))
    assert figure(music("4 1.3, 4 1.5, 2 1.7", key="G")).identity == here.identity
    assert figure(music("4 4.0, 4 4.2, 4 4.4, 4 (4.4", key="G")).identity == here.identity
    assert figure(music("4, 4 4.0, 4 4.2, 4 4.4 | 4 (4.4, 2.", key="G")).identity == here.identity


@pytest.mark.parametrize(
    "other",
    ["4 4.0, 4 4.2, 2 4.5", "4 4.0, 4. 4.2, 4. 4.4", "4 4.0, 4 4.2, 2 3.0 4.4", "4 4.0, 4 3.7, 2 4.4"],
)
def test_other_degrees_rhythms_and_octaves_within_are_another_phrase(other):
    assert figure(music(other, key="G")).identity != figure(music("4 4.0, 4 4.2, 2 4.4", key="G")).identity


def test_the_same_notes_in_another_key_are_another_phrase():
    assert figure(music(PHRASE, key="G")).identity != figure(music(PHRASE, key="D")).identity


def test_silence_has_no_figure():
    assert figure(music("1 | 4 x3.0, 2.")) is None


def test_a_phrase_that_begins_in_a_measure_has_its_chords_from_the_bar_line():
    piece = over(music("2 2.0, 4 2.2, 4 2.4 | 1 2.5 | 1 2.3", key="D"), "A7", "D", "G")
    found = figure(piece, Place(0, Fraction(2)))
    assert (found.chords, [move.at for move in found.moves]) == ("I IV", [0, 4])
    assert figure(piece, Place(1), Place(2)).chords == "I"


def test_a_seventh_is_its_chord_and_a_chord_that_goes_on_is_one():
    marks = (ChordMark(offset=0, symbol="G"), ChordMark(offset=2, symbol="G7"))
    piece = score(measure("1 2.2", chords=marks), measure("1 2.0", chords=(ChordMark(offset=0, symbol="Am7b5"),)))
    piece = piece.with_(head=piece.head.with_(key=Key.parse("G")))
    assert figure(piece).chords == "I iiø"


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("V7 I", "V I"),
        ("iim7 V7 Imaj7", "ii V I"),
        ("i-bVII", "i bVII"),
        ("#IV° I", "bV° I"),
        ("IIm V", "ii V"),
        ("vi ii", "vi ii"),
    ],
)
def test_numerals_as_players_write_them(said, meant):
    assert in_numerals(said) == meant


@pytest.mark.parametrize("said", ["G D", "I8x", "VIIII", "x"])
def test_what_is_no_numeral_is_said(said):
    with pytest.raises(ScoreError, match="numerals"):
        in_numerals(said)


TONES = st.lists(st.tuples(st.integers(1, 8), st.integers(0, 24)), min_size=1, max_size=12)


@st.composite
def figures(draw):
    at, tones = Fraction(0), []
    for eighths, above in draw(TONES):
        length = Fraction(eighths, 2)
        tones.append(Tone(at, length, above))
        at += length
    return Figure(tuple(tones), ())


@given(figures(), figures(), figures())
def test_the_distance_is_a_distance(one, other, third):
    assert apart(one, one) == 0
    assert apart(one, other) == apart(other, one)
    assert apart(one, third) <= apart(one, other) + apart(other, third) + 1e-9


@given(figures(), st.integers(-2, 2))
def test_octaves_of_the_whole_do_not_count(one, octaves):
    moved = tuple(tone._replace(above=tone.above + 12 * octaves) for tone in one.tones)
    assert apart(one, Figure(moved, ())) == 0


def test_what_a_teacher_calls_like_is_nearer():
    """Common practice, no source: an ornament of a phrase is more like it than another line over its chord."""
    plain = figure(music("4 4.0, 4 4.4, 4 3.0, 4 4.4 | 1 4.0", key="G"))
    turned = figure(music("8 4.0, 8 4.2, 4 4.4, 8 3.0, 8 3.2, 4 4.4 | 1 4.0", key="G"))
    minor = figure(music("4 4.0, 4 4.3, 4 3.0, 4 4.3 | 1 4.0", key="G"))
    other = figure(music("4 3.5, 4 3.0, 4 4.4, 4 4.2 | 1 4.0", key="G"))
    assert apart(plain, turned) < apart(plain, minor) < apart(plain, other)
