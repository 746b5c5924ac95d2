"""Fitting a line of several voices: the first one has the melody (common practice, no source)."""

from __future__ import annotations

import pytest

from tabterm.hand.adapt import adapt
from tabterm.hand.finding import Severity
from tabterm.hand.review import findings
from tabterm.instrument import parse_pitch
from tests.build import PLAYER
from tests.formats.musicxml_build import note, read, sounded

BACK = "<backup><duration>16</duration></backup>"


def crossing(upper, lower):
    """Four quarters of two voices."""
    second = "".join(note(name, voice="2") for name in lower.split())
    return read("".join(map(note, upper.split())) + BACK + second)


def test_the_first_voice_keeps_the_melody_where_another_goes_above_it():
    """Voice 2 begins a third under the melody, meets it, and goes a third and an octave with a third above it."""
    line = crossing("E5 D5 C5 B4", "C5 D5 E5 D6")
    assert [[(tone.pitch, tone.voice) for tone in moment.notes] for moment in line.measures[0].events] == [
        [(76, 0), (72, 1)],
        [(74, 0)],
        [(76, 1), (72, 0)],
        [(86, 1), (71, 0)],
    ]
    fitted = adapt(line, PLAYER)
    assert [pitches for _, _, pitches in sounded(fitted.score)] == [(76, 72), (74,), (72, 64), (71, 62)]
    assert fitted.report.lines(fitted.score) == [
        "7 notes fitted to the Mandolin: 2 notes in another octave",
        "measure 1, beat 3: E5 (voice 2) is played as E4, under the melody",
        "measure 1, beat 4: D6 (voice 2) is played as D4, under the melody",
    ]
    assert not [each for each in findings(fitted.score, PLAYER) if each.severity is Severity.IMPOSSIBLE]


TOLD = [
    ("E5", "C5", "E5 C5"),
    ("C5", "E5", "C5 E4"),
    ("B4", "D5", "B4 D4"),
    ("A4", "E5", "A4 E4"),
    ("D5", "G5", "D5 G4"),
    ("B4", "D6", "B4 D4"),
    ("G4", "G5", "G4"),
    ("C5", "E5 G5", "C5 E4 G3"),
    ("F5 B4", "A#4", "F5 B4"),
    ("F#5 C#5", "A4 E4", "F#5 C#5"),
    ("D5 C#4", "D#4", "D5 C#4"),
]
"""What a student is told to play of a first and a second voice: common practice, no source."""


@pytest.mark.parametrize(("first", "second", "told"), TOLD)
def test_what_a_student_is_told_of_two_voices(first, second, told):
    fitted = adapt(read(together(first) + BACK + together(second, voice="2")), PLAYER)
    assert [pitches for _, _, pitches in sounded(fitted.score)] == [tuple(map(parse_pitch, told.split()))]


def together(names, **of_note):
    first, *others = names.split()
    return note(first, 16, **of_note) + "".join(note(each, 16, before="<chord/>", **of_note) for each in others)


def test_notes_of_other_voices_are_left_out_before_those_of_the_first_and_told():
    fitted = adapt(read(together("F#5 C#5") + BACK + together("A4 E4", voice="2")), PLAYER)
    why = "no hand can play it with F#5 and C#5"
    assert fitted.report.lines(fitted.score) == [
        "4 notes fitted to the Mandolin: 2 notes left out",
        f"measure 1, beat 1: A4 (voice 2) is left out: {why}",
        f"measure 1, beat 1: E4 (voice 2) is left out: {why}",
    ]


def test_a_source_row_has_no_voices():
    fitted = adapt(crossing("E5 D5 C5 B4", "C5 D5 E5 G5"), PLAYER)
    assert all(event.marks is None for event in fitted.score.measures[0].source)
    assert fitted.score.measures[0].source[2].pitches == (76, 72)
