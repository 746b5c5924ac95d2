"""What chords are in their key: against what a teacher says, and numerals against an independent library."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from tabterm.harmony.chords import QUALITIES, parse_chord
from tabterm.harmony.patterns import named
from tabterm.harmony.progression import Role, functions, number, roman, sign_of, sounding_chords
from tabterm.score.key import Key
from tabterm.score.model import ChordMark, Head, Score
from tests.build import measure


def _lines():
    lines = Path(__file__).with_name("progressions.txt").read_text(encoding="utf-8").splitlines()
    return [[part.strip() for part in line.split("|")] for line in lines if "|" in line and line[0] != "#"]


def over(chords: str, key: str = "C") -> Score:
    """A score of long notes over chords, a measure between semicolons."""
    measures = []
    for part in chords.split(";"):
        symbols = part.split()
        marks = tuple(
            ChordMark(offset=Fraction(4 * at, len(symbols)), symbol=symbol) for at, symbol in enumerate(symbols)
        )
        measures.append(measure("1 1.0", chords=marks))
    return Score(head=Head(key=Key.parse(key)), measures=tuple(measures))


@pytest.mark.parametrize(("key", "chords", "numerals", "names"), _lines(), ids=lambda text: text[:40])
def test_chords_and_moves_are_what_a_teacher_says(key, chords, numerals, names):
    score = over(chords, key)
    found = sounding_chords(score)
    assert " ".join(each.roman for each in functions(found)) == numerals
    assert ", ".join(each.name for each in named(score, found)) == names


def test_what_a_chord_does_that_its_numeral_does_not_say():
    roles = {
        "C E7 Am": [Role.NONE, Role.SECONDARY, Role.NONE],
        "C Db7 C": [Role.NONE, Role.SUBSTITUTE, Role.NONE],
        "C C#dim7 Dm": [Role.NONE, Role.LEADING, Role.NONE],
        "F F#dim7 C": [Role.NONE, Role.PASSING, Role.NONE],
        "C Ab C": [Role.NONE, Role.BORROWED, Role.NONE],
        "C F# C": [Role.NONE, Role.OUTSIDE, Role.NONE],
        "C C7 F": [Role.NONE, Role.SECONDARY, Role.NONE],
        "C7 F7 C7": [Role.NONE, Role.NONE, Role.NONE],
    }
    for chords, told in roles.items():
        assert [each.role for each in functions(sounding_chords(over(chords)))] == told, chords


def test_equal_neighbours_are_one_and_what_is_not_understood_parts_them():
    score = over("C C ; C ; N.C. ; C ; Cwat ; C")
    assert [(each.symbol, each.place.measure, each.length) for each in sounding_chords(score)] == [
        ("C", 0, 8),
        ("C", 3, 4),
        ("C", 5, 4),
    ]


def test_numbers_are_said_as_players_say_them():
    """Common practice, no source: the two minor seven, the five seven, the four over the six."""
    said = {"Am7": "2m7", "D7": "5^7", "C/E": "4/6", "F": "b7", "Em": "6m", "F#dim": "7°", "G": "1"}
    assert {symbol: number(parse_chord(symbol), Key.parse("G")) for symbol in said} == said


def test_every_quality_has_a_numeral_that_tells_it_from_the_others():
    """Two qualities have one sign only where one has all tones of the other but a fifth or an eleventh."""
    signs: dict[str, set[frozenset[int]]] = {}
    for intervals in QUALITIES.values():
        chord = parse_chord("C" + next(names[0] for names, each in QUALITIES.items() if each == intervals))
        told = roman(chord, Key.parse("C"))
        signs.setdefault(told, set()).add(frozenset(intervals))
    assert [told for told, sets in signs.items() if len(sets) > 1] == []


THEIRS = ("C Dm Em F G Am Bdim", "Cmaj7 Dm7 Em7 Fmaj7 G7 Am7 Bm7b5")
PLACES = {"C": 0, "G": 7, "D": 2, "Bb": 10, "E": 4, "Ab": 8}


@pytest.mark.parametrize("tonic", PLACES)
def test_numerals_are_those_of_an_independent_library(tonic):
    """music21 (Cuthbert and Ariza 2010, ISMIR) writes o for °, and I7 for what is Imaj7 here."""
    pytest.importorskip("music21", reason="music21 is not installed: it names the numerals")
    from music21 import chord, key
    from music21 import roman as theirs

    names = {"I": "", "ii": "m", "iii": "m", "IV": "", "V": "", "vi": "m", "viio": "dim"}
    sevenths = {"I7": "maj7", "ii7": "m7", "iii7": "m7", "IV7": "maj7", "V7": "7", "vi7": "m7", "viiø7": "m7b5"}
    there = key.Key(tonic.replace("b", "-"))
    for figure, quality in (names | sevenths).items():
        wanted = theirs.RomanNumeral(figure, there)
        root = wanted.root().name.replace("-", "b")
        ours = parse_chord(root + quality)
        assert {each % 12 for each in wanted.pitchClasses} == {ours.tone(interval) for interval in ours.intervals}
        back = theirs.romanNumeralFromChord(chord.Chord(wanted.pitches), there).figure
        told = roman(ours, Key.parse(tonic)).replace("°", "o").replace("maj7", "7")
        assert told == back, (tonic, figure)


def test_the_signs_of_altered_chords():
    """As chord symbols are written behind their root (common practice, no source)."""
    for symbol in ("7b9", "13", "9", "maj9", "6", "6/9", "sus4", "7sus4", "+", "+7", "7b5", "7#9", "11", "maj7"):
        assert sign_of(parse_chord(f"C{symbol}")) == symbol
