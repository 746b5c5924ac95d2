"""Which notes show an accidental: what differs from the key and from the measure so far."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.spelling import spell_pitch

if TYPE_CHECKING:
    from tabterm.score.key import Key

STEPS = "FCGDAEB"
NAMES = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
HIGHEST_OCTAVE = 9
"""Octaves of the standard are 0 to 9."""

Spelled = tuple[str, int, int]
"""Step, alteration in semitones, octave."""


def spelled(pitch: int, key: Key) -> Spelled:
    """A MIDI note number as a key writes it; the octave is that of the step (Cb5 sounds B4)."""
    name = spell_pitch(pitch, key)
    alter = name.count("#") - name.count("b")
    return name[0], alter, (pitch - alter) // 12 - 1


class Accidentals:
    """Remembers what has been shown in a measure."""

    def __init__(self, key: Key) -> None:
        self._in_force = {step: (key.fifths - at + 6) // 7 for at, step in enumerate(STEPS)}
        self._shown: dict[tuple[str, int], int] = {}

    def name(self, note: Spelled) -> str:
        """The accidental that a struck note shows, or ""."""
        step, alter, octave = note
        if self._shown.get((step, octave), self._in_force[step]) == alter:
            return ""
        self._shown[step, octave] = alter
        return NAMES.get(alter, "")
