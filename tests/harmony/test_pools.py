"""What phrases are made of: against what a teacher says, scales against published definitions and a library."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

import tabterm
from tabterm.errors import ScoreError
from tabterm.harmony.phrases import contour, phrase_of, phrases
from tabterm.harmony.pools import SCALES, pool_named, scale
from tabterm.harmony.rhythm_names import PATTERNS, WITHIN_BEATS, rhythm_name
from tabterm.score.key import Key
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Head, Score
from tabterm.score.place import Place, Span
from tests.build import measure, music


def _lines():
    lines = Path(__file__).with_name("phrases.txt").read_text(encoding="utf-8").splitlines()
    return [[part.strip() for part in line.split("|")] for line in lines if "|" in line and line[0] != "#"]


def built(key: str, chords: str, notes: str) -> Score:
    """The score of a line of the phrases; its metre is that of the first measure's length."""
    measures = [
        measure(each.strip(), chords=(ChordMark(offset="0", symbol=symbol.strip()),))
        for each, symbol in zip(notes.split(";"), chords.split(";"), strict=True)
    ]
    rhythm = {"jig": "6/8", "waltz": "3/4"}
    metre = "4/4" if measures[0].length == 4 else rhythm["waltz" if len(measures[0].events) == 2 else "jig"]
    return Score(head=Head(key=Key.parse(key), metre=Metre.parse(metre)), measures=tuple(measures))


@pytest.mark.parametrize(("key", "chords", "notes", "pool", "outside", "way", "rhythm"), _lines())
def test_a_phrase_is_made_of_what_a_teacher_says(key, chords, notes, pool, outside, way, rhythm):
    score = built(key, chords, notes)
    found = phrase_of(score, Span.of_measures(0, len(score.measures) - 1))
    first = found.pools[0]
    strays = " ".join(each.name for each in first.outside) or "-"
    assert (first.name, strays, found.contour, found.rhythm or "-") == (pool, outside, way, rhythm)


def test_scales_are_those_of_an_independent_library():
    """music21 (Cuthbert and Ariza 2010, ISMIR) has these; its melodic minor goes up as ours does."""
    scales = pytest.importorskip("music21.scale", reason="music21 is not installed: it has the scales")
    theirs = {
        **{
            name: f"{name.title()}Scale"
            for name in ("major", "minor", "dorian", "phrygian", "lydian", "mixolydian")
        },
        "harmonic minor": "HarmonicMinorScale",
        "whole tone": "WholeToneScale",
    }
    for name, there in theirs.items():
        pitches = getattr(scales, there)("C").getPitches("C4", "B4")
        assert scale(name, 0).tones == tuple(sorted({each.pitchClass for each in pitches})), name
    up = scales.MelodicMinorScale("C").getPitches("C4", "B4", direction=scales.Direction.ASCENDING)
    assert scale("melodic minor", 0).tones == tuple(each.pitchClass for each in up)


def test_blues_scales_are_as_published():
    """Minor: Aebersold 1970, "How to Play Jazz and Improvise", vol. 1, p. 26; major: as Greenblatt has it. Both by
    way of the article "Blues scale" of Wikipedia. C major blues has the tones of A minor blues."""
    assert scale("minor blues", 0).tones == (0, 3, 5, 6, 7, 10)
    assert scale("major blues", 0).tones == (0, 2, 3, 4, 7, 9)
    of_c, of_a = scale("major blues", 0), scale("minor blues", 3)
    assert {(each + of_c.root) % 12 for each in of_c.tones} == {(each + of_a.root) % 12 for each in of_a.tones}


def test_no_two_scales_are_alike():
    assert len({scale(name, 0).tones for name in SCALES}) == len(SCALES)


def test_a_pool_is_named_as_players_name_it():
    assert pool_named("Bb major pentatonic").pitches(58, 70) == (58, 60, 62, 65, 67, 70)
    assert pool_named("f# Minor Blues").degree(66 + 6) == "b5"
    assert pool_named("Am7").degrees == ("1", "b3", "5", "b7")
    assert pool_named("Am7").degree(61) is None
    with pytest.raises(ScoreError, match="not a scale or a chord: 'G major pentatonik'"):
        pool_named("G major pentatonik")


CONTOURS = {
    "rises": [60, 62, 64, 67],
    "falls": [67, 64, 62, 60],
    "rises and falls": [60, 64, 67, 64, 60],
    "falls and rises": [67, 62, 60, 62, 67],
    "stays level": [60, 62, 60],
    "rises, falls and rises again": [60, 65, 55, 60],
    "rises and falls below its first note": [60, 65, 60, 55],
    "falls, rises and falls again": [60, 55, 65, 60],
    "falls and rises above its first note": [60, 55, 60, 65],
    "circles round its first note": [60, 63, 57, 60],
}


@pytest.mark.parametrize(("words", "pitches"), CONTOURS.items())
def test_how_a_line_goes(words, pitches):
    assert contour(pitches) == words


def moments_in(text: str):
    return tuple(map(Fraction, text.split()))


def test_every_rhythm_in_the_table_is_named_by_it():
    for name, (length, text) in PATTERNS.items():
        metre = Metre.parse({4: "4/4", 2: "2/4", 3: "3/4", -3: "6/8"}[length])
        moments = moments_in(text)
        if length == -3:
            moments = tuple(at for at in moments if at < 3)
        assert rhythm_name(moments, metre) == name
    for name, text in WITHIN_BEATS.items():
        moments = tuple(beat + at for beat in range(3) for at in moments_in(text))
        assert rhythm_name(moments, Metre.parse("3/4")) == name
    assert not rhythm_name(moments_in("0 1/2 2"), Metre.parse("4/4"))


RUN = "8 3.5,8 2.0,8 2.2,8 2.5,8 2.2,8 2.0,8 3.5,8 3.2"
LEADS_ON = "2. 3.5,8 3.4,8 3.5"


def test_phrases_are_fours_of_measures_with_what_leads_into_them():
    """A pickup belongs to the first, the two eighths before the fifth measure to the second."""
    score = music(f"< 4 3.0 | {RUN} | {RUN} | {RUN} | {LEADS_ON} | {RUN} | {RUN} | {RUN} | 1 3.5")
    assert phrases(score) == (Span(Place(0), Place(4, 3)), Span(Place(4, 3), Place(9)))


def test_a_section_begins_a_phrase_and_a_short_rest_of_it_does_not():
    score, marks = music(" | ".join([RUN] * 9)), ("", "", "B", *[""] * 6)
    measures = tuple(each.with_(section=mark) for each, mark in zip(score.measures, marks, strict=True))
    marked = score.with_(measures=measures)
    assert [(each.start.measure, each.end.measure) for each in phrases(score)] == [(0, 4), (4, 9)]
    assert [(each.start.measure, each.end.measure) for each in phrases(marked)] == [(0, 2), (2, 6), (6, 9)]


def test_a_short_measure_between_repeats_leads_into_the_section_behind_it():
    """A jig of two parts, each with its pickup: common practice, no source."""
    path = Path(__file__).parents[2] / "samples" / "ferrymans-jig.tabterm"
    spans = phrases(tabterm.open(path, player=tabterm.Player()).score)
    assert [(each.start.measure, each.end.measure) for each in spans] == [(0, 5), (5, 9), (9, 14), (14, 18)]


def test_targets_are_the_first_notes_of_measures_and_the_last_of_all():
    found = phrase_of(built(*_lines()[3][:3]), Span.of_measures(0, 1))
    told = [(each.standing.name, each.symbol, each.standing.to_chord) for each in found.targets]
    assert told == [("E", "C", "3"), ("F", "G7", "b7"), ("G", "G7", "1")]
    assert (found.lowest, found.highest) == (64, 77)
    assert phrase_of(music("1"), Span.of_measures(0, 0)) is None
