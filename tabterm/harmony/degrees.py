"""Degrees: what a note is against the chord in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.chords import chord_of
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from tabterm.harmony.chords import Chord
    from tabterm.score.model import Score

DEGREES = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")
"""Name of each interval in semitones above a root."""


def degree_of(pitch: int, root: int) -> str:
    """Degree of a MIDI note number (or pitch class) above a root's pitch class."""
    return DEGREES[(pitch - root) % 12]


def chord_in_force(score: Score, place: Place) -> str | None:
    """The last chord symbol at or before a place, from whichever measure; None where none was set."""
    for index in range(min(place.measure, len(score.measures) - 1), -1, -1):
        for mark in reversed(score.measures[index].chords):
            if index < place.measure or mark.offset <= place.offset:
                return mark.symbol
    return None


def harmony_in_force(score: Score, place: Place) -> Chord | None:
    """The chord of the symbol in force at a place; None where there is none, or it is not understood."""
    symbol = chord_in_force(score, place)
    return chord_of(score, symbol) if symbol else None


def chord_before(score: Score, index: int) -> str | None:
    """The chord symbol in force where a measure begins, but for one of its own; None where none was set."""
    return chord_in_force(score, Place(index - 1, score.measures[index - 1].length)) if index else None


def degree_row(score: Score, index: int) -> Mapping[tuple[Fraction, int], str]:
    """Degree of every note of a measure by (offset, course).

    It is counted from the root of the chord in force; where there is no chord, or one that is not understood,
    from the tonic of the key. Dead notes have none.
    """
    measure, tonic = score.measures[index], score.keys[index].tonic
    symbol = chord_before(score, index)
    marks = list(measure.chords)
    degrees: dict[tuple[Fraction, int], str] = {}
    for offset, event in measure.timed():
        while marks and marks[0].offset <= offset:
            symbol = marks.pop(0).symbol
        chord = chord_of(score, symbol) if symbol else None
        root = tonic if chord is None or chord.root is None else chord.root
        for note in event.notes:
            if not note.muted:
                pitch = score.head.instrument.pitch(note.course, note.fret)
                degrees[offset, note.course] = degree_of(pitch, root)
    return degrees
