"""The timbres of the instruments, as a table, and the rule for any other instrument."""

from __future__ import annotations

from dataclasses import fields
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from tabterm.sound.timbre import Timbre

if TYPE_CHECKING:
    from tabterm.instrument import Instrument

BANJO_PROGRAM = 105
"""General MIDI 1 program of the banjo, counted from 0: its body is a drum."""

_CARVED = ((1.0, 3.0, 6.0), (1.6, 3.0, 6.0), (2.6, 2.0, 4.0), (4.6, 3.0, 2.5), (11.0, 8.0, 1.2), (20.0, 9.0, 1.5))
"""Resonances of a carved box as multiples of the air resonance, decibels, Q (by ear, no source)."""

_HEAD = ((1.0, 2.0, 4.0), (1.9, 4.0, 4.0), (2.8, 4.0, 3.0), (4.4, 5.0, 2.5), (9.0, 8.0, 1.5), (17.0, 9.0, 1.5))
"""The same of a stretched head over a pot."""


def _body(air_hz: float, shape: tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, float, float], ...]:
    return tuple((round(air_hz * multiple, 1), decibels, q) for multiple, decibels, q in shape)


MANDOLIN = Timbre("mandolin", 2.0, 0.7, 1.0, 0.20, 85.0, 9500.0, 0.22, 0.12, _body(205.0, _CARVED), 260.0, 0.05)
MANDOLA = Timbre("mandola", 1.9, 0.7, 1.0, 0.24, 100.0, 7000.0, 0.20, 0.12, _body(165.0, _CARVED), 120.0, 0.06)
OCTAVE = Timbre(
    "octave mandolin", 1.8, 0.7, 1.0, 0.26, 115.0, 6200.0, 0.18, 0.12, _body(130.0, _CARVED), 90.0, 0.07
)
OCTAVE_STRUNG = Timbre(
    "octave mandolin, octave-strung",
    1.8,
    0.7,
    1.0,
    0.24,
    115.0,
    6800.0,
    0.2,
    0.12,
    _body(130.0, _CARVED),
    90.0,
    0.07,
)
MANDOCELLO = Timbre(
    "mandocello", 1.7, 0.7, 1.1, 0.28, 130.0, 5400.0, 0.16, 0.12, _body(105.0, _CARVED), 65.0, 0.08
)
BANJO = Timbre("tenor banjo", 4.5, 0.5, 1.8, 0.20, 70.0, 9000.0, 0.30, 0.25, _body(280.0, _HEAD), 180.0, 0.045)
BANJO_LOW = Timbre(
    "tenor banjo, an octave below the mandolin",
    4.2,
    0.5,
    1.8,
    0.20,
    75.0,
    8200.0,
    0.28,
    0.25,
    _body(250.0, _HEAD),
    150.0,
    0.05,
)
BASS = Timbre("double bass", 3.0, 0.4, 7.0, 3.0, 180.0, 900.0, 0.03, 0.10, _body(60.0, _CARVED), 40.0, 0.09, 0.0)

TIMBRES: dict[str, Timbre] = {
    "mandolin": MANDOLIN,
    "mandola": MANDOLA,
    "octave-mandolin": OCTAVE,
    "octave-mandolin-octave-strung": OCTAVE_STRUNG,
    "mandocello": MANDOCELLO,
    "tenor-banjo": BANJO,
    "tenor-banjo-low": BANJO_LOW,
}
"""By the word of the preset."""


def timbre_of(instrument: Instrument) -> Timbre:
    """A preset's own timbre; of any other instrument one between its nearest relatives by scale length.

    Relatives have a body of the same kind: a drum where the General MIDI program says banjo, else a box.
    """
    from tabterm.instrument.presets import PRESETS

    for word, preset in PRESETS.items():
        if (preset.courses, preset.scale_length_mm, preset.program) == (
            instrument.courses,
            instrument.scale_length_mm,
            instrument.program,
        ):
            return TIMBRES[word]
    drum = instrument.program == BANJO_PROGRAM
    family = sorted(
        (preset.scale_length_mm, word)
        for word, preset in PRESETS.items()
        if (preset.program == BANJO_PROGRAM) is drum and word != "octave-mandolin-octave-strung"
    )
    length_mm = min(max(instrument.scale_length_mm, family[0][0]), family[-1][0])
    for (short_mm, short), (long_mm, long) in pairwise(family):
        if length_mm <= long_mm:
            share = (length_mm - short_mm) / (long_mm - short_mm)
            return _between(TIMBRES[short], TIMBRES[long], share, instrument.name)
    raise AssertionError("the longest of the family bounds the length")


def _between(one: Timbre, other: Timbre, share: float, name: str) -> Timbre:
    """Every number in a straight line between two timbres."""
    return Timbre(
        name,
        *(
            _mixed(getattr(one, each.name), getattr(other, each.name), share)
            for each in fields(Timbre)
            if each.name != "name"
        ),
    )


def _mixed(one: Any, other: Any, share: float) -> Any:
    if isinstance(one, tuple):
        return tuple(_mixed(a, b, share) for a, b in zip(one, other, strict=True))
    return one + (other - one) * share
