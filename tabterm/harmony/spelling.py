"""What a note is called: spelled as a key or a chord writes it, and its degree, both on the line of fifths."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.chords import chord_of
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.harmony.chords import Chord
    from tabterm.score.key import Key
    from tabterm.score.model import Score


_FIFTHS = ("F", "C", "G", "D", "A", "E", "B")


def spell_pitch(pitch: int, key: Key) -> str:
    """Name a MIDI note number (or pitch class) in a key, without octave: 10 is `Bb` in F, `A#` in B."""
    return note_name(fifths_in_key(pitch, key))


def note_name(fifths: int) -> str:
    """The name of a place on the line of fifths, counted from C: -2 is `Bb`."""
    octave, step = divmod(fifths + 1, 7)
    accidental = "#" * octave if octave > 0 else "b" * -octave
    return _FIFTHS[step] + accidental


def fifths_in_key(pitch: int, key: Key) -> int:
    """Where a key writes a pitch on the line of fifths, counted from C.

    Twelve neighbours are used, from four fifths below the signature on (from C, in keys of more than four
    sharps; two fifths higher in minor, whose leading note is raised): both natural and altered degrees get the
    name a reader expects.
    """
    lowest = min(key.fifths - (2 if key.mode == "minor" else 4), 0)
    return lowest + (7 * pitch - lowest) % 12


def pitch_words(pitch: int, key: Key) -> str:
    """A MIDI note number as a key spells it, with its octave in scientific pitch notation: `Bb3`, `Cb4` (59)."""
    return in_octave(spell_pitch(pitch, key), pitch)


def in_octave(name: str, pitch: int) -> str:
    """The name of a MIDI note number with its octave: `Cb4` (59)."""
    alter = name.count("#") - name.count("b")
    return f"{name}{(pitch - alter) // 12 - 1}"


DEGREES = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")
"""Name of each interval in semitones above a root."""

_SHARP = {"#1", "#2", "#4", "#5"}


def degree_name(fifths: int) -> str:
    """The degree that lies some fifths above a root: 6 is `#4`, -6 is `b5`; the usual name of an unusual one."""
    octave = (fifths + 1) // 7
    accidental = "#" * octave if octave > 0 else "b" * -octave
    name = f"{accidental}{4 * fifths % 7 + 1}"
    return name if name in {*DEGREES, *_SHARP, "bb7"} else DEGREES[7 * fifths % 12]


def fifths_in_chord(interval: int, chord: Chord) -> int:
    """Fifths from the root of a chord to a tone of it, in semitones, as the chord means it.

    Beside a major third a minor one is a sharp ninth, beside a perfect fifth a diminished one is a sharp
    eleventh, without one an augmented one is a sharp fifth, and the sixth of a diminished chord is its seventh
    (common practice, no source).
    """
    has = {*chord.intervals}
    raised = {3: 4 in has, 6: 7 in has, 8: not has & {6, 7}}
    if raised.get(interval):
        return interval * 7 % 12
    if interval == 9 and {3, 6} <= has and not has & {7, 10}:
        return -9
    return (7 * interval + 6) % 12 - 6


EXTENSIONS = {1: "b9", 2: "9", 3: "#9", 5: "11", 6: "#11", 8: "b13", 9: "13"}
"""Name of each extension by its interval in semitones above the root."""


def chord_degree(interval: int, chord: Chord) -> str:
    """The degree of a tone of a chord: `#9`, `b5`, `bb7`; ninths, elevenths and thirteenths by those names."""
    if is_extension(interval, chord) and interval in EXTENSIONS:
        return EXTENSIONS[interval]
    return degree_name(fifths_in_chord(interval, chord))


def is_extension(interval: int, chord: Chord) -> bool:
    """Whether a tone of a chord is none of its root, third, fifth and seventh."""
    return interval not in {0, chord.third, chord.fifth, chord.seventh}


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
