"""The tunes that come with the program: right by the books they are from, and playable by a beginner's hand."""

from __future__ import annotations

import re
from collections import Counter
from difflib import SequenceMatcher
from fractions import Fraction
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from tabterm import Player
from tabterm.formats import abc, native
from tabterm.formats.abc.tunes import text_of
from tabterm.piece.piece import Piece
from tabterm.score.kinds import Barline, Stroke, StrokeSchool
from tabterm.storage.names import named_after

TUNES = sorted((Path(__file__).parents[2] / "samples" / "tunes").glob("*.tabterm"))
NAMES = [path.stem for path in TUNES]

BOOKS = {
    "Ryan's Mammoth Collection (Boston 1883)": "ryansMammoth",
    "O'Neill's Music of Ireland (Chicago 1903)": "oneills1850",
    "Aird's Airs, book 4 (Glasgow, end of the 18th century)": "airdsAirs",
}
"""Printed collections, and the folder of the package music21 that holds each in ABC."""

RYAN = {
    "arkansas-traveller": "ArkansasTravellerReel",
    "the-devils-dream": "DevilsDreamReel",
    "temperance-reel": "TemperanceReel",
    "speed-the-plough": "SpeedThePloughReel",
    "fishers-hornpipe": "FishersHornpipe",
    "ricketts-hornpipe": "RickettsHornpipe",
    "the-girl-i-left-behind-me": "GirlILeftBehindMe",
    "haste-to-the-wedding": "HasteToTheWeddingJig",
    "garryowen": "GarryOwenJig",
    "smash-the-windows": "SmashTheWindowsJig",
}
"""Files of Ryan's collection, which has no numbers; the others are found by the number in the credits."""

SIMPLER = {
    "harvest-home": 0.7,  # triplets of repeated notes are eighths
    "the-rakes-of-mallow": 0.55,  # two of its four strains
    "smash-the-windows": 0.75,  # two of its three strains
    "drowsy-maggie": 0.85,  # C sharp for C
    "the-red-haired-boy": 0.8,  # G for G sharp
}
"""Tunes of which the credits say where they differ, with the likeness that remains."""

CHORDS = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 7, 10)}
"""Semitones over the root, by what follows it in a symbol (any primer of harmony)."""

ROOTS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}

JIG = (Stroke.DOWN, Stroke.UP, Stroke.DOWN)
"""Down up down on the eighths of a beat: N. Gatherer, "Pick direction", nigelgatherer.com, 5 and 9."""

Half = Fraction(1, 2)


@cache
def tune(name):
    return native.read(TUNES[NAMES.index(name)].read_bytes())


def sounding(score):
    """(measure, onset in quarters, event) of all that sounds."""
    for number, measure in enumerate(score.measures):
        for at, event in measure.timed():
            if event.notes:
                yield number, at, event


def pitch(score, event):
    return score.head.instrument.pitch(event.notes[0].course, event.notes[0].fret)


def test_there_are_twenty_and_more_each_in_a_file_of_its_name():
    assert len(TUNES) >= 20
    assert [named_after(tune(name).head.title) for name in NAMES] == NAMES
    kinds = Counter(tune(name).head.credits[0].split()[-1] for name in NAMES)
    assert min(kinds["reel"], kinds["hornpipe"], kinds["jig"], kinds["air"]) >= 4


@pytest.mark.parametrize("name", NAMES)
def test_a_tune_is_whole_fingered_and_stroked(name):
    score = tune(name)
    assert native.write(score) == TUNES[NAMES.index(name)].read_bytes()
    origin = score.head.credits[1]
    assert any(book in origin for book in BOOKS) or "from memory" in origin
    assert any(measure.remark for measure in score.measures)
    assert score.measures[int(score.measures[0].short)].chords
    for _, _, event in sounding(score):
        note = event.notes[0]
        assert event.stroke_shown is not None or not event.takes_stroke
        assert note.tied or (note.finger is not None) == (note.fret > 0)
        assert note.fret <= 7


@pytest.mark.parametrize("name", NAMES)
def test_a_pickup_and_the_end_of_its_part_make_a_measure(name):
    score = tune(name)
    short = [index for index, measure in enumerate(score.measures) if measure.short]
    assert len(short) % 2 == 0
    assert short[-1] in {len(score.measures) - 1, -1} if short else True
    for begins, ends in zip(short[::2], short[1::2], strict=True):
        both = score.measures[begins].length + score.measures[ends].length
        assert both == score.metres[ends].length
        assert score.measures[begins].repeat_start == (score.measures[ends].repeat_times == 2)
    assert score.measures[-1].barline is Barline.FINAL


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_hard_at_the_tempo(name):
    found = Piece(tune(name), Player()).findings()
    assert [finding.message for finding in found] == []


@pytest.mark.parametrize("name", NAMES)
def test_the_hand_moves_as_its_school_has_it(name):
    score = tune(name)
    jig = str(score.head.metre) == "6/8"
    for number, at, event in sounding(score):
        if event.duration.tuplet or not event.is_struck or score.head.school is not StrokeSchool.BEAT:
            continue
        measure = score.measures[number]
        pickup = measure.short and not measure.repeat_times and number < len(score.measures) - 1
        before = score.metres[number].length - measure.length if pickup else 0
        eighths = (at + before) / Half
        if eighths.denominator == 1:
            due = JIG[int(eighths) % 3] if jig else (Stroke.DOWN, Stroke.UP)[int(eighths) % 2]
            assert event.stroke_shown is due, (number, at)


@pytest.mark.parametrize("name", NAMES)
def test_the_chords_are_those_of_the_melody(name):
    """By the time of chord notes: three fifths and more of the whole, a third of every whole measure."""
    score = tune(name)
    tones: frozenset[int] = frozenset()
    inside, all_of = Counter(), Counter()
    for number, measure in enumerate(score.measures):
        symbols = {mark.offset: mark.symbol for mark in measure.chords}
        for at, event in measure.timed():
            for offset in sorted(place for place in symbols if place <= at):
                root, kind = re.fullmatch(r"([A-G])(m|7|)", symbols.pop(offset)).groups()
                tones = frozenset((ROOTS[root] + step) % 12 for step in CHORDS[kind])
            if event.notes and tones:
                all_of[number] += event.length
                inside[number] += event.length * (pitch(score, event) % 12 in tones)
    assert sum(inside.values()) >= Fraction(3, 5) * sum(all_of.values())
    poor = [
        number for number in all_of if not score.measures[number].short and inside[number] < all_of[number] / 3
    ]
    assert poor == []


def printed(name, folder, number):
    """The pitches of a tune in a printed collection, as the package music21 holds it."""
    music21 = pytest.importorskip("music21", reason="the collections are in the package music21")
    shelf = Path(music21.__file__).parent / "corpus" / folder
    if folder == "ryansMammoth":
        texts = [text_of((shelf / f"{RYAN[name]}.abc").read_bytes())]
    else:
        whole = "\n".join(text_of(path.read_bytes()) for path in sorted(shelf.glob("*.abc")))
        texts = [text for text in re.split(r"(?m)^(?=X:)", whole) if re.match(rf"X:\s*0*{number}\s", text)]
    text = re.sub(r"\{[^}]*\}", "", re.split(r"\n[ \t]*\n", texts[0])[0]) + "\n"
    score = abc.read(text.encode()).music
    return [pitch for measure in score.measures for event in measure.source for pitch in event.pitches[:1]]


@pytest.mark.parametrize("name", [name for name in NAMES if "memory" not in tune(name).head.credits[1]])
def test_a_tune_is_the_one_in_its_book(name):
    """Steps from note to note, so that the key does not matter."""
    score = tune(name)
    origin = score.head.credits[1]
    folder = next(folder for book, folder in BOOKS.items() if book in origin)
    number = re.search(r"no\. (\d+)", origin)
    theirs = printed(name, folder, number and number[1])
    ours = [pitch(score, event) for _, _, event in sounding(score) if not event.notes[0].tied]
    likeness = SequenceMatcher(None, steps(ours), steps(theirs), autojunk=False).ratio()
    assert likeness >= SIMPLER.get(name, 0.9), round(likeness, 2)


def steps(pitches):
    return [after - before for before, after in pairwise(pitches)]
