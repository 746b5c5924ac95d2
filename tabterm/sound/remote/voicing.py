"""What a voicing from outside may hold: numbers that some string, pick and body could have.

Others would not harm the ears, since the sound is limited, but could keep the synthesiser busy for ever. The
ranges are those of `PRESETS`, widely rounded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tabterm.sound.timbre import Voicing

Range = tuple[float, float]

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

RESONANCE: tuple[Range, ...] = ((10, 20_000), (-40, 40), (0.1, 200))
"""The numbers of a resonance of the body: Hz, dB, Q."""

MOST = 20
"""Parts, courses, strings, resonances; of each there is at least one."""

LONGEST_NAME = 100


def can_sound(voicing: Voicing) -> bool:
    """Whether everything in it is within the ranges."""
    return _holds("", voicing.as_values())


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
