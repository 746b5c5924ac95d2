"""What a note is called: spelled as a key writes it, and as a degree of the chord in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.chords import chord_of
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from tabterm.harmony.chords import Chord
    from tabterm.score.key import Key
    from tabterm.score.model import Score


_FIFTHS = ("F", "C", "G", "D", "A", "E", "B")


def spell_pitch(pitch: int, key: Key) -> str:
    """Name a MIDI note number (or pitch class) in a key, without octave: 10 is `Bb` in F, `A#` in B.

    Twelve neighbours on the line of fifths are used, from four fifths below the signature on (from C, in keys
    of more than four sharps; two fifths higher in minor, whose leading note is raised): both natural and
    altered degrees get the name a reader expects.
    """
    position = (7 * (pitch % 12)) % 12  # fifths above C
    lowest = min(key.fifths - (2 if key.mode == "minor" else 4), 0)
    while position < lowest:
        position += 12
    while position > lowest + 11:
        position -= 12
    octave, step = divmod(position + 1, 7)
    accidental = "#" * octave if octave > 0 else "b" * -octave
    return _FIFTHS[step] + accidental


def pitch_words(pitch: int, key: Key) -> str:
    """A MIDI note number as a key spells it, with its octave in scientific pitch notation: `Bb3`, `Cb4` (59)."""
    name = spell_pitch(pitch, key)
    alter = name.count("#") - name.count("b")
    return f"{name}{(pitch - alter) // 12 - 1}"


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
