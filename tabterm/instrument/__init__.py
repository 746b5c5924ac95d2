"""Instruments: courses, tunings, frets in millimetres, and the presets of the family."""

from tabterm.instrument.model import (
    Course,
    Instrument,
    fret_distance_mm,
    parse_pitch,
    pitch_name,
    stretch_mm,
)
from tabterm.instrument.presets import PRESETS, preset

__all__ = [
    "PRESETS",
    "Course",
    "Instrument",
    "fret_distance_mm",
    "parse_pitch",
    "pitch_name",
    "preset",
    "stretch_mm",
]
