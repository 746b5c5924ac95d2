"""Chord symbols against a published table, degrees and spelling against checkable statements."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.harmony.chords import parse_chord
from tabterm.harmony.degrees import chord_in_force, degree_of, degree_row
from tabterm.harmony.spelling import spell_pitch
from tabterm.score.key import Key
from tabterm.score.model import ChordMark
from tabterm.score.place import Place
from tests.build import measure, score

HARTE = {
    "": "0 4 7", "m": "0 3 7", "aug": "0 4 8", "dim": "0 3 6", "sus4": "0 5 7", "sus2": "0 2 7",
    "7": "0 4 7 10", "maj7": "0 4 7 11", "m7": "0 3 7 10", "mmaj7": "0 3 7 11", "6": "0 4 7 9",
    "m6": "0 3 7 9", "dim7": "0 3 6 9", "m7b5": "0 3 6 10", "aug7": "0 4 8 10", "5": "0 7",
}  # fmt: skip
"""Harte, Sandler, Abdallah and Gomez 2005, "Symbolic representation of musical chords", ISMIR: shorthands and
their components, in semitones."""


@pytest.mark.parametrize(("quality", "components"), HARTE.items())
def test_qualities_of_the_published_table(quality, components):
    chord = parse_chord(f"C{quality}")
    assert chord is not None
    assert set(chord.intervals) == set(map(int, components.split()))


@pytest.mark.parametrize(
    ("symbol", "root", "bass"), [("F#m7b5", 6, 6), ("Bb", 10, 10), ("D/F#", 2, 6), ("C°7", 0, 0), ("Bø7", 11, 11)]
)
def test_roots_and_basses(symbol, root, bass):
    chord = parse_chord(symbol)
    assert chord is not None
    assert (chord.root, chord.bass) == (root, bass)


def test_no_chord_and_no_symbol():
    assert parse_chord("N.C.").root is None
    assert parse_chord("H7") is None
    assert parse_chord("G7wat") is None


def test_degrees_of_checkable_statements():
    """Over G7 the note F is the flat seventh; over C, F is the fourth; over D7, F is the flat third."""
    assert degree_of(65, 7) == "b7"
    assert degree_of(65, 0) == "4"
    assert degree_of(65, 2) == "b3"


def test_the_chord_goes_on_until_the_next():
    built = score(
        measure("2 1.0,2 1.3", chords=(ChordMark(offset="2", symbol="G7"),)),
        "1 1.1",
        measure("1 1.1", chords=(ChordMark(offset="0", symbol="N.C."),)),
        key=Key.parse("C"),
    )
    assert degree_row(built, 0) == {(Fraction(0), 1): "3", (Fraction(2), 1): "1"}
    assert degree_row(built, 1) == {(Fraction(0), 1): "b7"}
    assert degree_row(built, 2) == {(Fraction(0), 1): "4"}
    assert chord_in_force(built, Place(0)) is None
    assert chord_in_force(built, Place(1, Fraction(1))) == "G7"


@pytest.mark.parametrize(
    ("pitch", "key", "name"),
    [
        (10, "F", "Bb"),
        (6, "G", "F#"),
        (10, "B", "A#"),
        (3, "Eb", "Eb"),
        (3, "E", "D#"),
        (1, "Dm", "C#"),
        (0, "B", "C"),
    ],
)
def test_spelling_by_the_key(pitch, key, name):
    assert spell_pitch(pitch, Key.parse(key)) == name
