"""The instrument: its pitches and courses, where its frets are, and its measures in millimetres.

Frets follow d(n) = S - S / 2^(n/12); the tests hold the rule against a published table of factors.
"""

from __future__ import annotations

import math
import re
from functools import cached_property
from typing import TYPE_CHECKING, Annotated

from tabterm.errors import InstrumentError
from tabterm.forms import Limits
from tabterm.values import Value

if TYPE_CHECKING:
    from collections.abc import Container


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


MAX_FRETS = 36  #: frets; implementation limit
"""More frets than any instrument of the family has; the bound for a fret number in a file."""


class Course(Value):
    """One course: two strings (or one) stopped together.

    Attributes:
        pitch: MIDI note number of the open course (the lower string where the two are an octave apart).
        octave: The second string sounds an octave above the first.
        single: The course has one string (tenor banjo) instead of two.
    """

    pitch: Annotated[int, Limits(ge=0, le=127)]
    octave: bool = False
    single: bool = False

    def __post_init__(self) -> None:
        if self.octave and self.single:
            raise InstrumentError("a course of one string cannot be an octave pair", hint="choose one of the two")


class Instrument(Value):
    """A fretted instrument, seen from the player: course 1 is the highest.

    Attributes:
        name: What the player calls it.
        courses: Highest course first, as tab is written from top to bottom.
        frets: Number of frets on the neck.
        scale_length_mm: Nut to bridge.
        course_pitch_nut_mm: Distance between the middles of neighbouring courses at the nut.
        course_pitch_bridge_mm: The same at the bridge.
        program: General MIDI program, 0 to 127 (25 = program 26 "Acoustic Guitar (steel)", the nearest to
            a mandolin in General MIDI 1, which has none).
    """

    name: Annotated[str, Limits(min_length=1, max_length=60)]
    courses: Annotated[tuple[Course, ...], Limits(min_length=1, max_length=8)]
    frets: Annotated[int, Limits(ge=1, le=MAX_FRETS)]
    scale_length_mm: Annotated[float, Limits(gt=100, lt=2000, allow_inf_nan=False)]
    #: mm; derived: 6.3 to 7.7 by a nut of 1 1/8 in and its gaps (ask-a-luthier.com, question 2), taken as 7
    course_pitch_nut_mm: Annotated[float, Limits(gt=1, lt=30, allow_inf_nan=False)] = 7.0
    #: mm; from memory
    course_pitch_bridge_mm: Annotated[float, Limits(gt=1, lt=40, allow_inf_nan=False)] = 10.5
    #: General MIDI program from 0; General MIDI 1 sound set
    program: Annotated[int, Limits(ge=0, le=127)] = 25

    def __post_init__(self) -> None:
        for number, course in enumerate(self.courses, 1):
            if course.pitch + self.frets > 127:
                raise InstrumentError(
                    f"course {number} of '{self.name}' goes beyond MIDI's range at its highest fret",
                    hint="lower its tuning or the number of frets",
                )

    @property
    def course_count(self) -> int:
        """Number of courses."""
        return len(self.courses)

    def pitch(self, course: int, fret: int) -> int:
        """MIDI note number of a stopped course."""
        return self.courses[course - 1].pitch + fret

    def places_of(self, pitch: int) -> tuple[tuple[int, int], ...]:
        """Every (course, fret) on the neck that sounds a pitch, highest course first."""
        return tuple(
            (number, pitch - course.pitch)
            for number, course in enumerate(self.courses, 1)
            if 0 <= pitch - course.pitch <= self.frets
        )

    def free_place(self, pitch: int, taken: Container[int]) -> tuple[int, int] | None:
        """The lowest fret on a course that is not taken for a pitch, which is moved by octaves onto the neck."""
        lowest = min(course.pitch for course in self.courses)
        highest = max(course.pitch for course in self.courses) + self.frets
        if pitch < lowest:
            pitch += -(-(lowest - pitch) // 12) * 12
        elif pitch > highest:
            pitch -= -(-(pitch - highest) // 12) * 12
        places = self.places_of(min(max(pitch, lowest), highest))
        return next((place for place in places if place[0] not in taken), None)

    def course_letters(self) -> tuple[str, ...]:
        """Name of each open course, highest first; of two with one letter the higher is written small."""
        return self._letters

    @cached_property
    def _letters(self) -> tuple[str, ...]:
        names = [pitch_name(course.pitch).rstrip("-0123456789") for course in self.courses]
        return tuple(name.lower() if name in names[index + 1 :] else name for index, name in enumerate(names))


def fret_distance_mm(scale_length_mm: float, fret: float) -> float:
    """Distance from the nut to a fret; 0 is the nut, 12 half the string."""
    return scale_length_mm * (1.0 - math.exp2(-fret / 12.0))


def stretch_mm(scale_length_mm: float, low: int, high: int) -> float:
    """Distance along the neck between two frets; negative when `high` is nearer the nut."""
    return fret_distance_mm(scale_length_mm, high) - fret_distance_mm(scale_length_mm, low)
