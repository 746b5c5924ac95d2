"""Small values of the format: numbers, note values, pitches."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.instrument.model import STEP_SEMITONES
from tabterm.score.duration import Duration, Tuplet

if TYPE_CHECKING:
    from tabterm.formats.musicxml.tree import Node

TYPES = {
    "whole": 1,
    "half": 2,
    "quarter": 4,
    "eighth": 8,
    "16th": 16,
    "32nd": 32,
    "64th": 64,
    "128th": 128,
    "256th": 256,
}
"""Names of the note values that the model has, and their part of a whole note."""

NAMES = {value: name for name, value in TYPES.items()}

FINEST = 4096
"""A time whose denominator is larger than this is rounded: no notation is that fine, only arithmetic is."""

_NUMBER = re.compile(r"^([+-]?)(\d{1,9})(?:\.(\d{1,9})\d*)?$", re.ASCII)


@lru_cache(maxsize=4096)
def number(text: str) -> Fraction | None:
    """A decimal number of the file, or None."""
    match = _NUMBER.match(text)
    if match is None:
        return None
    sign, whole, decimals = match.groups()
    value = Fraction(int(whole)) + (Fraction(int(decimals), 10 ** len(decimals)) if decimals else 0)
    return -value if sign == "-" else value


def whole(text: str) -> int | None:
    """A whole number of the file, or None."""
    value = number(text)
    return int(value) if value is not None and value.denominator == 1 else None


@lru_cache(maxsize=4096)
def quarters(text: str, divisions: Fraction) -> Fraction | None:
    """A duration in divisions of a quarter as quarters, or None where the text is no number."""
    value = number(text)
    if value is None:
        return None
    value /= divisions
    return value if value.denominator <= FINEST else value.limit_denominator(960)


@lru_cache(maxsize=1024)
def written_duration(kind: str, dots: int, actual: str, normal: str) -> Duration | None:
    """The note value of a type, dots and a tuplet's ratio ("" for none); None where the model has none such."""
    value = TYPES.get(kind)
    try:
        if value is None or dots > 2:
            return None
        ratio = (whole(actual), whole(normal)) if actual or normal else None
        if ratio is None or ratio[0] == ratio[1]:
            return Duration(value, dots)
        return None if None in ratio else Duration(value, dots, Tuplet(ratio[0] or 0, ratio[1] or 0))
    except ScoreError:
        return None


def midi_pitch(step: str, alter: Fraction, octave: int) -> int | None:
    """MIDI note number of a step, alteration in semitones and octave; None where the step is none."""
    semitones = STEP_SEMITONES.get(step)
    return None if semitones is None else (octave + 1) * 12 + semitones + round(alter)


def pitch_of(node: Node, prefix: str = "") -> tuple[int | None, bool]:
    """The MIDI note number of `step`, `alter` and `octave`, and whether a part of a semitone was rounded off."""
    alter = number(node.word(f"{prefix}alter") or "0") or Fraction(0)
    octave = whole(node.word(f"{prefix}octave"))
    if octave is None:
        return None, False
    return midi_pitch(node.word(f"{prefix}step").upper(), alter, octave), alter.denominator != 1
