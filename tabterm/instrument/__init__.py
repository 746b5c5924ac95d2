"""Instruments: courses, tunings, frets in millimetres, and the presets of the family."""

from tabterm.instrument.fretboard import fret_distance_mm, fret_gap_mm, stretch_mm
from tabterm.instrument.model import Course, Instrument
from tabterm.instrument.pitch import parse_pitch, pitch_name
from tabterm.instrument.presets import PRESETS, preset

__all__ = [
    "PRESETS",
    "Course",
    "Instrument",
    "fret_distance_mm",
    "fret_gap_mm",
    "parse_pitch",
    "pitch_name",
    "preset",
    "stretch_mm",
]
