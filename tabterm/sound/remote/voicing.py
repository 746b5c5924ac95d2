"""What a voicing from outside may hold: numbers that some string, pick and body could have.

Others could keep the synthesiser busy for ever. The ranges are those of `PRESETS`, widely rounded. How loud it
may be is not a range: it plays at most as loud as one that is made here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tabterm.sound.voicing import BASS_LEVEL, CHORDS_LEVEL, SOLO_LEVEL, CourseVoice, PartVoice, Voicing

if TYPE_CHECKING:
    from collections.abc import Mapping

Range = tuple[float, float]

#: as the names say; implementation limit
RANGES: Mapping[str, Range] = {
    "loss_per_s": (0.05, 100),
    "register": (-2, 3),
    "loss_per_s_khz": (0, 200),
    "loss_per_s_khz2": (0, 100),
    "pick_mm": (1, 2000),
    "bright_hz": (100, 40_000),
    "pick_noise": (0, 2),
    "knock": (0, 2),
    "floor_hz": (1, 2000),
    "damping_s": (0.001, 5),
    "level": (0, 4),
    "pitch": (0, 127),
    "length_mm": (50, 3000),
    "semitones": (-24, 24),
    "cents": (-100, 100),
    "inharmonicity": (0, 0.1),
    "loss": (0.01, 100),
    "pan": (-1, 1),
}
"""Every number that has a name."""

RESONANCE: tuple[Range, ...] = ((10, 20_000), (-40, 40), (0.1, 200))  #: Hz, dB, Q; implementation limit
"""The numbers of a resonance of the body: Hz, dB, Q."""

MOST = 20  #: items; implementation limit
"""Parts, courses, strings, resonances; of each there is at least one."""

LONGEST_NAME = 100  #: characters; implementation limit

MOST_LEVELS: Mapping[str, float] = {"solo": SOLO_LEVEL, "chords": CHORDS_LEVEL, "bass": BASS_LEVEL}
"""Amplitude of each part at most; of any other part, none."""

MOST_COURSE_LEVEL = 2.0  #: times the level of a string; derived: two strings
"""Of all strings of a course together: two strings, each as strong as the other."""


def can_sound(voicing: Voicing) -> bool:
    """Whether everything in it is within the ranges."""
    return _holds("", voicing.as_values())


def capped(voicing: Voicing) -> Voicing:
    """The voicing, with the levels of its parts and courses let down to those of one made here."""
    return Voicing({name: _capped_part(part, MOST_LEVELS.get(name, 0.0)) for name, part in voicing.parts.items()})


def _capped_part(part: PartVoice, most: float) -> PartVoice:
    return replace(part, level=min(part.level, most), courses=tuple(map(_capped_course, part.courses)))


def _capped_course(course: CourseVoice) -> CourseVoice:
    level = sum(string.level for string in course.strings)
    if level <= MOST_COURSE_LEVEL:
        return course
    share = MOST_COURSE_LEVEL / level
    return replace(course, strings=tuple(replace(each, level=each.level * share) for each in course.strings))


def _holds(name: str, value: Any) -> bool:
    if name in RANGES:
        return _is_within(value, RANGES[name])
    if name == "name":
        return isinstance(value, str) and len(value) <= LONGEST_NAME
    if name == "body":
        return 0 < len(value) <= MOST and all(_is_resonance(each) for each in value)
    if isinstance(value, dict):
        return 0 < len(value) <= MOST and all(_holds(key, each) for key, each in value.items())
    is_list = isinstance(value, (list, tuple)) and 0 < len(value) <= MOST
    return is_list and all(_holds("", each) for each in value)


def _is_resonance(values: tuple[Any, ...]) -> bool:
    return all(_is_within(value, limits) for value, limits in zip(values, RESONANCE, strict=True))


def _is_within(value: Any, limits: Range) -> bool:
    return type(value) in {int, float} and limits[0] <= value <= limits[1]
