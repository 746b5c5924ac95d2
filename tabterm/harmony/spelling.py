"""Spelling pitches as a key writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.score.key import Key

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
