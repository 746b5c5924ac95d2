"""The rules of a melody against what a student is told."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from tabterm.harmony.craft import RULES, Melody, faults
from tabterm.harmony.ground import Under, pool_of
from tabterm.score.duration import Duration
from tabterm.score.key import Key
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Event, Head, Measure, Score
from tabterm.score.place import Place, Span

CLASSES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def pitch(name: str) -> int:
    """The MIDI note number of a name such as `F#4`."""
    letter, sign, octave = re.fullmatch(r"([A-G])([#b]?)(\d)", name).groups()
    return CLASSES[letter] + {"#": 1, "b": -1, "": 0}[sign] + 12 * (int(octave) + 1)


def rhythm_and_pitches(text: str) -> tuple[list[Duration], list[int]]:
    """A line in words: values with the notes that have them."""
    values, pitches = [], []
    for word in text.replace("|", " ").split():
        if word[0].isdigit():
            value = Duration.parse(word)
        else:
            values.append(value)
            pitches.append(pitch(word))
    return values, pitches


def melody(over: str, text: str) -> Melody:
    """A line over its chords."""
    metre, key, chords = re.fullmatch(r"(\S+) (\S+): (.*)", over).groups()
    values, pitches = rhythm_and_pitches(text)
    whole = Metre.parse(metre)
    measures = tuple(
        Measure(events=(Event(duration=Duration.parse({4: "1", 3: "2."}[int(whole.length)])),), chords=marks)
        for symbol in chords.split(" | ")
        if (marks := (ChordMark(offset=Fraction(0), symbol=symbol),))
    )
    score = Score(head=Head(metre=whole, key=Key.parse(key)), measures=measures)
    under = Under(score, pool_of(score, Span.of_measures(0, 0)))
    at, rhythm = Fraction(0), []
    for value in values:
        rhythm.append((at, value.length))
        at += value.length
    assert at == whole.length * len(measures), text
    return Melody(under.pulses(Place(0), rhythm), tuple(pitches))


def told() -> list[dict[str, str]]:
    """What a student is told, entry by entry."""
    text = (Path(__file__).parent / "craft.txt").read_text()
    blocks = [block for block in text.split("\n\n") if block.startswith("say:")]
    return [dict(line.split(": ", 1) for line in block.splitlines()) for block in blocks]


@pytest.mark.parametrize("entry", told(), ids=lambda entry: entry["rule"])
def test_a_rule_hears_what_a_student_is_told(entry: dict[str, str]) -> None:
    good, bad = (faults(melody(entry["over"], entry[which])) for which in ("good", "bad"))
    assert entry["rule"] not in {fault.rule.name for fault in good}
    assert entry["rule"] in {fault.rule.name for fault in bad}
    assert sum(fault.points for fault in good) < sum(fault.points for fault in bad)


def test_every_rule_is_told() -> None:
    """But for the one on what stands around a phrase."""
    assert {rule.name for rule in RULES} - {"joins"} == {entry["rule"] for entry in told()}


def test_a_good_line_is_told_little() -> None:
    """What a teacher plays as an example is not picked to pieces."""
    for entry in told():
        good = faults(melody(entry["over"], entry["good"]))
        assert sum(fault.points for fault in good) <= 3.0, (entry["rule"], [(f.rule.name, f.number) for f in good])


def test_a_long_last_note_is_at_home_in_both_of_its_chords() -> None:
    """Of Am before D7 it is A, since C would be the seventh; of G before D7 neither G nor B, so D7 decides."""
    marks = (ChordMark(offset=Fraction(0), symbol="Am"), ChordMark(offset=Fraction(2), symbol="D7"))
    score = Score(head=Head(), measures=(Measure(events=(Event(duration=Duration.parse("1")),), chords=marks),))
    under = Under(score, pool_of(score, Span.of_measures(0, 0)))
    long, short = (under.pulse(Place(0), Place(0), Fraction(length)) for length in (4, 1))
    assert long.home == {CLASSES["A"]}
    assert short.home == {CLASSES["A"], CLASSES["C"]}
    marks = (ChordMark(offset=Fraction(0), symbol="G"), ChordMark(offset=Fraction(2), symbol="D7"))
    score = score.with_(measures=(score.measures[0].with_(chords=marks),))
    under = Under(score, pool_of(score, Span.of_measures(0, 0)))
    assert under.pulse(Place(0), Place(0), Fraction(4)).home == {CLASSES["D"], CLASSES["F"] + 1}
    assert under.pulse(Place(0), Place(0), Fraction(1)).home == {CLASSES["G"], CLASSES["B"]}
