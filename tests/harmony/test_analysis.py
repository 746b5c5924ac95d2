"""What a note is: against labels that were written by hand first, and spelling against an independent library."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import pytest

from tabterm.formats import text
from tabterm.harmony.analysis import NoteClass, analyse
from tabterm.harmony.chords import parse_chord
from tabterm.harmony.spelling import fifths_in_chord, note_name
from tabterm.instrument import PRESETS
from tabterm.score.key import Key
from tabterm.score.model import ChordMark, Head, Measure, Score
from tests.build import event, measure, score


class Label(NamedTuple):
    """A line of the labels."""

    chord: str
    value: str
    name: str
    to_key: str
    to_chord: str
    kind: str
    why: str


def _phrases():
    """Title and labels of each phrase."""
    phrases = []
    for line in (Path(__file__).with_name("labels.txt")).read_text(encoding="utf-8").splitlines():
        if line.startswith("="):
            phrases.append((line.removeprefix("= "), []))
        elif "|" in line and phrases:
            phrases[-1][1].append(Label(*(part.strip() for part in line.split("|"))))
    return phrases


PHRASES = _phrases()
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def _pitch(name):
    return 12 * (int(name[-1]) + 1) + STEPS[name[0]] + name.count("#") - name.count("b")


def _on_neck(name):
    """Course and fret of a pitch on the highest course that has it."""
    courses = PRESETS["mandolin"].courses
    course = next(number for number, each in enumerate(courses, 1) if each.pitch <= _pitch(name))
    return f"{course}.{_pitch(name) - courses[course - 1].pitch}"


def _built(title, labels):
    """The score of a phrase: a measure wherever one is full."""
    tonic, mode = title.partition(",")[0].split()
    measures, events, marks, at = [], [], [], Fraction(0)
    for label in labels:
        if label.chord:
            marks.append(ChordMark(offset=at, symbol=label.chord))
        signs = label.value[: -len(label.value.lstrip("h/("))] if label.value[0] in "h/(" else ""
        events.append(event(f"{label.value.removeprefix(signs)} {signs}{_on_neck(label.name)}"))
        at += events[-1].length
        if at == 4:
            measures.append(Measure(events=tuple(events), chords=tuple(marks)))
            events, marks, at = [], [], Fraction(0)
    assert not events, f"{title}: the last measure is not full"
    key = Key.parse({"major": tonic, "minor": f"{tonic}m"}.get(mode, f"{tonic} {mode}"))
    return Score(head=Head(key=key), measures=tuple(measures))


def _standings(built):
    return [each for index in range(len(built.measures)) for each in analyse(built, index)]


@pytest.mark.parametrize(("title", "labels"), PHRASES, ids=[title for title, _ in PHRASES])
def test_notes_are_what_a_teacher_says(title, labels):
    found = [(each.name, each.to_key, each.to_chord, each.short) for each in _standings(_built(title, labels))]
    said = [(label.name[:-1], label.to_key, label.to_chord, label.kind) for label in labels]
    differ = [(label, here) for label, told, here in zip(labels, said, found, strict=True) if told != here]
    assert not differ


def test_at_least_sixty_notes_are_labelled_each_with_its_reason():
    labels = [label for _, labels in PHRASES for label in labels]
    assert len(labels) >= 60
    assert all(label.why for label in labels)


def test_a_blue_third_is_bent_slid_hammered_or_graced():
    """B flat to B over G, on the A course; plainly struck, or over G minor, it is not that event."""
    kinds = {
        "8 2.1,8 h2.2,4,2": NoteClass.BLUE_THIRD,
        "8 2.1,8 /2.2,4,2": NoteClass.BLUE_THIRD,
        "4 2.1b50,4,2": NoteClass.BLUE_THIRD,
        "4 [2.1] h2.2,4,2": NoteClass.BLUE_THIRD,
        "4 [2.3] p2.2,4,2": NoteClass.CHORD_TONE,
        "8 2.1,8 2.2,4,2": NoteClass.APPROACH,
    }
    for events, kind in kinds.items():
        assert _over(events, "G")[0].kind is kind, events
    assert _over("8 2.1,8 h2.2,4,2", "Gm")[0].kind is NoteClass.CHORD_TONE


def _over(events, symbol, key="G"):
    built = measure(events, chords=(ChordMark(offset="0", symbol=symbol),))
    return analyse(score(built, key=Key.parse(key)), 0)


def test_a_note_leads_to_the_nearest_of_what_follows_and_nowhere_over_a_rest_of_a_beat():
    """C over A leads to B over G: both fall by step, to third and root of G."""
    assert [each.leads for each in _over("8 2.3 3.7,8 2.2 3.5,4,2", "G")[:2]] == [(-1, "3"), (-2, "1")]
    over_a_short_rest, over_a_beat = _over("8 2.3,8,8 2.2,4,8 2.0,4", "G")[:2]
    assert over_a_short_rest.leads == (-1, "3")
    assert over_a_beat.leads is None


def test_without_a_chord_a_note_stands_in_the_key_alone():
    """No chord, `N.C.` and one that is not understood are alike; B flat is the blue third of G."""
    for symbol in ("", "N.C.", "G7wat"):
        chords = (ChordMark(offset="0", symbol=symbol),) if symbol else ()
        found = analyse(score(measure("4 2.1,4 2.2,2 x2.0", chords=chords), key=Key.parse("G")), 0)
        assert [(each.to_chord, each.to_key, each.short) for each in found] == [
            ("b3", "b3", "bn"),
            ("3", "3", "st"),
        ]


def test_the_spelling_of_a_chord_that_only_sounds_alike_is_not_remembered():
    """Db has an F, C# an E sharp: what falls to them by a semitone is G flat, and F sharp."""
    one, same, names = measure("2.,4 2.9"), measure("1 2.8"), []
    for symbol in ("Db", "C#", "Db"):
        built = Score(measures=(one, same.with_(chords=(ChordMark(offset="0", symbol=symbol),))))
        names.append(tuple(analyse(built, index)[0].name for index in range(2)))
    assert names == [("Gb", "F"), ("F#", "E#"), ("Gb", "F")]


THEIRS = {"Ebmaj9": "E-M9"} | {
    symbol: symbol[0] + symbol[1:].replace("b", "-", symbol[1:2] == "b")
    for symbol in (
        *("C", "F#m", "Bb7", "Dbmaj7", "G#m7", "Eb+", "Abm6", "C#dim7", "F#m7b5", "D9", "Bm9", "A7b9", "E7#9"),
        *("Db6", "C#m11", "Bbsus4", "Gbmaj7"),
    )
}
"""Symbols as music21 reads them; its thirteenth has the eleventh, which ours leaves out."""


@pytest.mark.parametrize(("symbol", "theirs"), THEIRS.items())
def test_chord_tones_are_spelled_as_an_independent_library_spells_them(symbol, theirs):
    """music21 (Cuthbert and Ariza 2010, ISMIR), whose flat is a minus sign."""
    harmony = pytest.importorskip("music21.harmony", reason="music21 is not installed: it spells the chords")
    spelled = {each.name.replace("-", "b") for each in harmony.ChordSymbol(theirs).pitches}
    chord = parse_chord(symbol)
    ours = {note_name(chord.root_fifths + fifths_in_chord(each, chord)) for each in chord.intervals}
    assert ours == spelled


@pytest.mark.parametrize("tonic", ["C", "G", "D", "A", "E", "B", "F", "Bb", "Eb", "Ab", "Db"])
def test_degrees_are_the_intervals_of_an_independent_library(tonic):
    """music21 names the interval from the tonic to each note as we spell it: `m3` is b3, `A4` #4."""
    intervals = pytest.importorskip("music21.interval", reason="music21 is not installed: it names the intervals")
    pitches = pytest.importorskip("music21.pitch")
    key, names = Key.parse(tonic), dict[str, str]()
    for fret in range(12):
        found = _over(f"1 4.{fret}", "N.C.", key=tonic)[0]
        there, here = (
            pitches.Pitch(f"{name.replace('b', '-')}{octave}") for name, octave in ((found.name, 6), (tonic, 3))
        )
        names[found.to_key] = intervals.Interval(here, there).simpleName
    perfect = {"1", "4", "5"}
    for degree, theirs in names.items():
        number, sign = degree[-1], degree[:-1]
        kinds = {"": "P" if number in perfect else "M", "b": "d" if number in perfect else "m", "#": "A"}
        assert theirs == f"{kinds[sign]}{number}", (key, degree)


def test_the_example_of_the_page_is_what_comes_out():
    page = (Path(__file__).parents[2] / "docs" / "analysis.md").read_text(encoding="utf-8")
    example = re.search(r"```\n(.*?)```", page[page.index("separates the notes of a double stop") :], re.DOTALL)[1]
    built = _built(*next(each for each in PHRASES if each[0] == "C major, two five one"))
    rows = ("chord", "rhythm", "degree", "tonic", "class")
    assert text.write(built, rows=rows).decode().endswith(f"\n\n{example}")


CASES = {
    "over a dominant the raised fourth passes": ("G", ["G7: 8 2.3,8 2.4,4 2.5,2"], 1, "pt", "C#"),
    "a raised fourth on its way up is not blue": (
        "C",
        ["G7: 4 3.0,8 3.2,8 3.4,4 2.0,4 2.2"],
        2,
        "out",
        "F#",
    ),
    "in minor the blue fifth stays blue": ("Gm", ["Gm: 8 2.3,8 2.4,4 2.5,2"], 1, "bn", "Db"),
    "early, and left by a leap": ("G", ["D7: 2. 2.9,8 2.9,8 3.5", "G: 2 2.5,2"], 2, "ant", "G"),
    "early, but it goes on by step": ("G", ["D7: 2. 2.9,8 2.9,8 3.5", "G: 2 2.0,2"], 2, "st", "G"),
    "too long to be early": ("G", ["D7: 2 2.9,2 3.5", "G: 1 3.5"], 1, "st", "G"),
    "too long to pass or approach": ("G", ["G: 8 2.2,2 2.3,8 2.5,4"], 1, "st", "C"),
    "a blue seventh goes down by a whole step": ("G", ["G: 8 1.3,8 1.1,8 1.0,8 2.5,2"], 1, "bn", "F"),
    "a blue seventh goes up by a whole step": ("G", ["G: 8 2.5,8 1.1,8 1.3,8,2"], 1, "bn", "F"),
    "no double sharp": ("B", ["B: 8 2.5,8 2.6,4,2"], 0, "a+1", "D"),
    "no double flat": ("Db", ["Db: 8 2.5,8 2.4,4,2"], 0, "a-1", "D"),
    "a ninth left by a leap over a seventh": ("G", ["G7: 8 2.0,8 2.5,4,2"], 0, "ext", "A"),
    "a second left by a leap over a triad": ("G", ["G: 8 2.0,8 2.5,4,2"], 0, "st", "A"),
    "a chord tone closes nothing in": ("C", ["Am7: 8 2.2,8 3.5,4 2.0,2"], 0, "ext", "B"),
    "hammered from elsewhere": ("G", ["G: 8 2.1 3.7,8 h3.9,4,2"], 0, "a+1", "A#"),
    "eleventh of a minor chord": ("Em", ["Em: 4 2.0,4 2.7,2"], 0, "ext", "A"),
    "sharp eleventh of a major chord": ("G", ["C: 4 1.2,4 2.3,2"], 0, "ext", "F#"),
    "flat ninth of a dominant": ("Am", ["E7: 4 1.1,4 2.2,2"], 0, "ext", "F"),
    "minor has a raised sixth": ("Am", ["Am: 8 1.2,8 2.3,4,2"], 0, "st", "F#"),
    "the chord before was another": ("G", ["G: 1 3.5", ": 1 3.5 @2 D5", ": 8 3.4,8 3.2,4,2"], 2, "pt", "F#"),
    "closed in over the bar line": ("C", ["C: 2. 2.3,8,8 2.0", ": 8 3.4,8 3.5,4,2"], 1, "enc", "A"),
    "outside": ("C", ["C: 8 2.4,8 2.8,4,2"], 0, "out", "C#"),
}
"""Key, measures with their chords, the number of a note, its class and name; common practice, no source."""


@pytest.mark.parametrize(("key", "measures", "number", "kind", "name"), CASES.values(), ids=CASES)
def test_what_decides_between_two_classes(key, measures, number, kind, name):
    built = []
    for each in measures:
        symbol, _, events = each.partition(": ") if not each.startswith(": ") else ("", "", each[2:])
        events, _, later = events.partition(" @2 ")
        marks = [(offset, text) for offset, text in (("0", symbol), ("2", later)) if text]
        built.append(measure(events, chords=tuple(ChordMark(offset=at, symbol=text) for at, text in marks)))
    found = _standings(score(*built, key=Key.parse(key)))[number]
    assert (found.short, found.name) == (kind, name)


def test_a_note_leads_on_from_the_end_of_its_tie():
    """C, tied, rises to D, the fifth of G."""
    assert [each.leads for each in _over("8 2.3,8 (2.3,8 2.5,8,2", "G")[:2]] == [(2, "5"), (2, "5")]
