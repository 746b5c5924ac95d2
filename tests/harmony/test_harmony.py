"""Chord symbols against a published table, degrees and spelling against checkable statements."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from tabterm.harmony.analysis import analyse
from tabterm.harmony.chords import (
    Chord,
    chord_of,
    doubtful_chords,
    parse_chord,
    symbols_at_starts,
    unknown_chords,
    without_brackets,
)
from tabterm.harmony.spelling import chord_in_force, spell_pitch
from tabterm.score.key import Key
from tabterm.score.kinds import ChordNames
from tabterm.score.model import ChordMark
from tabterm.score.place import Place
from tests.build import measure, score
from tests.harmony.symbols import SYMBOLS

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


def told(symbol, **names):
    """Root, tones and bass of a symbol, as pitch classes; None where it is not understood."""
    chord = parse_chord(symbol, **names)
    return chord and (chord.root, {chord.tone(each) for each in chord.intervals}, chord.bass)


def test_symbols_as_people_write_them_have_the_notes_of_the_published_definitions():
    assert len(SYMBOLS) >= 200
    assert {symbol: told(symbol) for symbol in SYMBOLS} == SYMBOLS


MISREAD = {"69", "2", "7add13", "7b13", "13b9", "13#11"}
"""Qualities that the library reads otherwise than the definitions have them (measured with music21 10)."""


def test_symbols_of_the_table_as_a_library_reads_them():
    """music21, which writes a flat root with a minus; the eleventh of a thirteenth as above."""
    harmony, library = pytest.importorskip("music21.harmony"), pytest.importorskip("music21.exceptions21")
    compared = 0
    for symbol, (root, tones, _) in SYMBOLS.items():
        parts = re.match(r"^([A-G][#b♯♭]?)([^-/\u2212\u2013]*)$", symbol)
        quality = parts and parts[2].translate(str.maketrans("♭♯", "b#"))
        if parts is None or quality in MISREAD:
            continue
        try:
            theirs = harmony.ChordSymbol(parts[1].translate(str.maketrans("b♭♯", "--#")) + quality)
        except (ValueError, library.Music21Exception):
            continue
        compared += 1
        assert set(theirs.pitchClasses) - tones <= ({(root + 5) % 12} if "13" in quality else set()), symbol
        assert tones <= set(theirs.pitchClasses), symbol
    assert compared > 60


@pytest.mark.parametrize(
    ("symbol", "english"),
    [
        *[("H", "B"), ("Hm", "Bm"), ("H7", "B7"), ("B", "Bb"), ("Bm7", "Bbm7"), ("Bb", "Bb"), ("B♭", "Bb")],
        *[("E/H", "E/B"), ("F/B", "F/Bb"), ("Fis", "F#"), ("Cism7", "C#m7"), ("Es", "Eb"), ("As7", "Ab7")],
        *[("Desmaj7", "Dbmaj7"), ("Esus4", "Esus4"), ("Asus", "Asus"), ("D/Fis", "D/F#"), ("Cisus4", None)],
    ],
)
def test_german_names(symbol, english):
    """B is B flat and H is B natural, -is a sharp and -es a flat (common practice, no source)."""
    assert told(symbol, german=True) == (english and told(english))


def test_an_h_makes_the_names_of_a_score_german_and_a_b_among_them_is_told():
    plain = score(measure("1 1.0", chords=(ChordMark(offset="0", symbol="B7"),)))
    assert chord_of(plain, "B7").root == 11
    assert doubtful_chords(plain) == ()
    marks = (ChordMark(offset="0", symbol="(Hm)"), ChordMark(offset="2", symbol="F/B"))
    german = score(measure("1 1.0", chords=(ChordMark(offset="0", symbol="Bb"),)), measure("1 1.0", chords=marks))
    assert chord_of(german, "B7").root == 10
    assert doubtful_chords(german) == ((Place(1, Fraction(2)), "F/B"),)
    english = german.with_(head=german.head.with_(chord_names=ChordNames.ENGLISH))
    assert chord_of(english, "B7").root == 11


@pytest.mark.parametrize(
    ("symbol", "root", "bass"), [("F#m7b5", 6, 6), ("Bb", 10, 10), ("D/F#", 2, 6), ("C°7", 0, 0), ("Bø7", 11, 11)]
)
def test_roots_and_basses(symbol, root, bass):
    chord = parse_chord(symbol)
    assert chord is not None
    assert (chord.root, chord.bass) == (root, bass)


def test_no_chord_and_no_symbol():
    for symbol in ("N.C.", "n.c.", "NC", "N.C", "nc", "(N.C.)", "N/C"):
        assert parse_chord(symbol) == Chord(None), symbol
    assert parse_chord("HC") is None
    assert parse_chord("G7wat") is None


LIBRARY = (
    *("", "m", "aug", "dim", "6", "m6", "7", "maj7", "m7", "m7b5", "dim7", "ø7", "o7", "+7", "7b5", "7#5", "7b9"),
    *("7#9", "9", "m9", "11", "m11", "add9", "madd9", "sus2", "sus4", "7sus4", "7#11", "maj7#11", "maj7#5", "5"),
    *("7b9#5", "13", "M9", "M13", "m13"),
)


@pytest.mark.parametrize("quality", LIBRARY)
def test_tones_as_a_library_has_them(quality):
    """music21, an independent reader of chord symbols. It keeps the eleventh of a thirteenth, which is left out
    here because it rubs against the third (common practice, no source)."""
    harmony = pytest.importorskip("music21.harmony")
    theirs = set(harmony.ChordSymbol(f"C{quality}").pitchClasses)
    assert set(parse_chord(f"C{quality}").intervals) == theirs - ({5} if quality.endswith("13") else set())


@pytest.mark.parametrize(
    ("one", "other"),
    [
        *[("C6/9", "C69"), ("C7(b9)", "C7b9"), ("Cm(maj7)", "Cmmaj7"), ("C7(b9,#5)", "C7b9#5"), ("C-7", "Cm7")],
        *[("Cmi7-5", "Cm7b5"), ("Csus", "Csus4"), ("C2", "Cadd9"), ("C9sus", "C9sus4"), ("CM7", "Cmaj7")],
        *[("C69", "C6add9"), ("Cm69", "Cm6add9")],
    ],
)
def test_two_spellings_of_one_chord(one, other):
    assert set(parse_chord(one).intervals) == set(parse_chord(other).intervals)


def test_what_is_no_chord():
    for symbol in ("C(", "C()", "C7wat", "C//G", "Cadd", "Csus5", "C13b", "am", "C7/J", "J7", "C7)9", "C7/4"):
        assert parse_chord(symbol) is None, symbol


@pytest.mark.parametrize(
    ("word", "symbol"),
    [
        *[("(G7)", "G7"), ("[Am]", "Am"), ("(G)", "G"), ("G7(b9)", "G7(b9)"), ("()", "()"), ("(G7", "G7")],
        *[("((G))", "G"), ("(G7(b9))", "G7(b9)"), ("(G)(b9)", "(G)(b9)"), ("G,", "G"), ("Am*", "Am"), ("*", "*")],
        *[("F#m7b5", "F#m7b5"), ("(G]", "(G]"), ("D)", "D"), ("C(", "C("), ("(C])", "(C])")],
    ],
)
def test_brackets_round_a_symbol(word, symbol):
    assert without_brackets(word) == symbol


def test_the_third_fifth_and_seventh_that_a_chord_has():
    chords = {name: parse_chord(name) for name in ("G7", "Gsus4", "Gdim7", "G7#5", "G6", "G5", "G7#9")}
    assert {name: (c.third, c.fifth, c.seventh) for name, c in chords.items()} == {
        "G7": (4, 7, 10), "Gsus4": (5, 7, None), "Gdim7": (3, 6, 9), "G7#5": (4, 8, 10), "G6": (4, 7, 9),
        "G5": (None, 7, None), "G7#9": (4, 7, 10),
    }  # fmt: skip


def test_the_chord_goes_on_until_the_next():
    built = score(
        measure("2 1.0,2 1.3", chords=(ChordMark(offset="2", symbol="G7"),)),
        "1 1.1",
        measure("1 1.1", chords=(ChordMark(offset="0", symbol="N.C."),)),
        key=Key.parse("C"),
    )
    degrees = [{each.offset: each.to_chord for each in analyse(built, index)} for index in range(3)]
    assert degrees == [{0: "3", 2: "1"}, {0: "b7"}, {0: "4"}]
    assert chord_in_force(built, Place(0)) is None
    assert chord_in_force(built, Place(1, Fraction(1))) == "G7"


def test_symbols_in_force_at_the_starts_and_symbols_that_are_not_understood():
    built = score(
        measure("1 1.0"),
        measure("2 1.0,2 1.3", chords=(ChordMark(offset="0", symbol="G"), ChordMark(offset="2", symbol="G7wat"))),
        measure("1 1.1", chords=(ChordMark(offset="1", symbol="C"), ChordMark(offset="2", symbol="G7wat"))),
        "1 1.1",
    )
    assert symbols_at_starts(built) == (None, None, "G7wat", "G7wat")
    assert unknown_chords(built) == ((Place(1, Fraction(2)), "G7wat"),)


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
