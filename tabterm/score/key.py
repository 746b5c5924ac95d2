"""Key: a tonic and a mode."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import ClassVar, Self

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.instrument.model import STEP_SEMITONES
from tabterm.values import TextValue

MODE_FIFTHS = {
    "major": 0,
    "minor": -3,
    "dorian": -2,
    "phrygian": -4,
    "lydian": 1,
    "mixolydian": -1,
    "locrian": -5,
}
"""Every mode and how many fifths its key signature lies above the major key on the same tonic."""


@lru_cache(maxsize=64)
def mode_tones(mode: str) -> tuple[int, ...]:
    """Semitones above the tonic of the tones of a mode, upwards."""
    return tuple(sorted(7 * (fifths + MODE_FIFTHS[mode]) % 12 for fifths in range(-1, 6)))


_FIFTHS_OF_STEP = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_TEXT = re.compile(rf"^([A-G])(#|b)?(m| (?:{'|'.join(MODE_FIFTHS)}))?$")


@dataclass(frozen=True, slots=True)
class Key(TextValue):
    """A key; text form `G`, `Em` or `A mixolydian`.

    Attributes:
        step: Letter of the tonic.
        alter: -1 flat, 0 natural, 1 sharp.
        mode: A name of `MODE_FIFTHS`.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    step: str
    alter: int = 0
    mode: str = "major"

    def __str__(self) -> str:
        accidental = {-1: "b", 0: "", 1: "#"}[self.alter]
        mode = {"major": "", "minor": "m"}.get(self.mode, f" {self.mode}")
        return f"{self.step}{accidental}{mode}"

    @classmethod
    @lru_cache(maxsize=256)
    def parse(cls, text: str) -> Self:
        """Read a key; equal texts give the same object."""
        match = _TEXT.match(text.strip())
        if match is None:
            raise ScoreError(f"not a key: '{text}'", hint="write G, F#, Em, Bb minor or A mixolydian")
        step, accidental, mode = match.groups()
        alter = {"#": 1, "b": -1}.get(accidental, 0)
        return cls(step, alter, "minor" if mode == "m" else (mode or " major").strip())

    @property
    def tonic(self) -> int:
        """Pitch class of the tonic, 0 = C."""
        return (STEP_SEMITONES[self.step] + self.alter) % 12

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) of the key signature."""
        return self.tonic_fifths + MODE_FIFTHS[self.mode]

    @property
    def tonic_fifths(self) -> int:
        """The tonic as it is spelled, in fifths above C."""
        return fifths_of(self.step, self.alter)


def fifths_of(step: str, alter: int) -> int:
    """Where a letter and its alteration in semitones lie on the line of fifths, counted from C."""
    return _FIFTHS_OF_STEP[step] + 7 * alter


C_MAJOR = Key.parse("C")

KEYS = tuple(
    str(Key.parse(f"{tonic}{mode}"))
    for mode in ("", "m", *(f" {name}" for name in MODE_FIFTHS if name not in {"major", "minor"}))
    for tonic in ["C", "G", "D", "A", "E", "B", "F#", "F", "Bb", "Eb", "Ab", "Db"]
)
"""Keys to choose from: twelve tonics, up the fifths and down, in each mode."""
