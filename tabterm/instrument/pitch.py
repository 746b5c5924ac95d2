"""Pitches as MIDI note numbers (60 = middle C, C4) and their names."""

from __future__ import annotations

import re

from tabterm.errors import InstrumentError

#: semitones; definition: the natural notes
STEP_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
"""Semitones of each natural note above C."""

_SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_PITCH = re.compile(r"^([A-Ga-g])(#{0,2}|b{0,2})(-?\d)$")


def pitch_name(pitch: int) -> str:
    """Name a MIDI note number in scientific pitch notation, with sharps: 69 is `A4`."""
    return f"{_SHARP_NAMES[pitch % 12]}{pitch // 12 - 1}"


def parse_pitch(text: str) -> int:
    """Read a pitch such as `G3`, `F#4` or `Bb2` as a MIDI note number.

    Raises:
        InstrumentError: The text is no pitch, or lies outside MIDI's 0 to 127.
    """
    match = _PITCH.match(text.strip())
    if match is None:
        raise InstrumentError(f"not a pitch: '{text}'", hint="write a letter and an octave, such as G3 or F#4")
    step, accidental, octave = match.groups()
    alter = accidental.count("#") - accidental.count("b")
    pitch = (int(octave) + 1) * 12 + STEP_SEMITONES[step.upper()] + alter
    if not 0 <= pitch <= 127:
        raise InstrumentError(f"'{text}' is outside MIDI's range", hint="use C-1 to G9")
    return pitch
