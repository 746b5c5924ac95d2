"""Timbres: what kinds of string instruments sound like, as a table, and the rule for any other instrument.

None of the numbers has a published source. They were set so that the decay of the partials, the fall of the level
after the attack and the weight of the high partials lie between those of a physical model of a mandolin (The
Synthesis ToolKit 4.6.2) and of recorded steel strings and a recorded banjo (FluidR3 GM, programs 26 and 106),
from G3 to A5; and from there in the direction in which larger bodies and heavier strings go.
`python -m tests.bench tone` repeats the comparison for the mandolin; the banjos were set by hand.
"""

from __future__ import annotations

import math
from dataclasses import fields
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from tabterm.instrument import Instrument

Resonance = tuple[float, float, float]
"""A resonance of the body: frequency in Hz, by how many decibels it lifts a partial that meets it, and Q."""


@dataclass(frozen=True, slots=True)
class Timbre:
    """A kind of instrument, apart from the strings that are on it.

    Attributes:
        name: What it is.
        body: Its broad resonances, which colour the strings.
        modes: Those by which it answers a stroke for a tenth of a second or two.
        loss_per_s: How fast the amplitude of a string of 440 Hz dies: it falls to 1/e in 1 / `loss_per_s`.
        register: That loss grows with this power of the pitch.
        bridge_per_s: What a string loses more to the bridge where it is far higher than `bridge_hz`.
        bridge_hz: A string of this pitch loses half of that.
        loss_per_s_khz: What a partial at 1 kHz loses more, growing with its frequency (1/s).
        loss_per_s_khz2: The same, growing with the square of its frequency.
        pick_mm: Where the pick meets the strings, from the bridge.
        bright_hz: The pick is round and soft: at this frequency a partial has 1/e of what a sharp one would give.
        pick_noise: Peak of the noise of the pick against that of the string.
        knock: Peak of what the body answers to the stroke against that of the string.
        sympathy: How much the open courses answer another, against the most.
        floor_hz: Below this the body hardly radiates.
        damping_s: Time in which a finger that is lifted, or laid on, silences a string of 440 Hz.
    """

    name: str
    body: tuple[Resonance, ...]
    modes: tuple[Resonance, ...]
    loss_per_s: float
    register: float
    bridge_per_s: float
    bridge_hz: float
    loss_per_s_khz: float
    loss_per_s_khz2: float
    pick_mm: float
    bright_hz: float
    pick_noise: float
    knock: float
    sympathy: float
    floor_hz: float
    damping_s: float

    def losses(self, hertz: float) -> tuple[float, float, float]:
        """Of a string of so many Hz: a, b, c with which a partial at f kHz loses a + b f + c f^2 in a second."""
        taken = self.bridge_per_s / (1.0 + (self.bridge_hz / hertz) ** BRIDGE_POWER)
        still = self.loss_per_s * (hertz / 440.0) ** self.register + taken
        return still, self.loss_per_s_khz, self.loss_per_s_khz2

    def ring_s(self, hertz: float) -> float:
        """Time in which the fundamental of a string of so many Hz falls by 60 dB."""
        still, rising, steep = self.losses(hertz)
        khz = hertz / 1000.0
        return math.log(1000.0) / (still + rising * khz + steep * khz**2)


BRIDGE_POWER = 4.0  #: exponent; tuned here, by both references
"""How soon, with rising pitch, the bridge begins to take from a string."""

BANJO_PROGRAM = 105  #: General MIDI program from 0; General MIDI 1 sound set
"""General MIDI 1 program of the banjo, counted from 0: its body is a drum."""

#: times, dB, Q; tuned here, as told above
_BOX = ((1.0, 3.0, 6.0), (1.6, 3.0, 6.0), (2.6, 2.0, 4.0), (4.6, 0.0, 2.5), (11.0, 8.0, 1.2), (20.0, 12.0, 1.5))
"""Resonances of a carved box: multiples of that of the air in it, decibels, Q."""

#: times, dB, Q; tuned here, as told above
_DRUM = ((1.0, 2.0, 4.0), (1.9, 4.0, 4.0), (2.8, 4.0, 3.0), (4.4, 4.0, 2.5), (9.0, 8.0, 1.5), (17.0, 12.0, 1.5))
"""The same of a head stretched over a pot."""

#: times, dB, Q; tuned here: from the air upwards, ever closer and weaker, each dying in 50 to 200 ms
_BOX_MODES = (
    *(
        (1.0, -2.0, 12.0),
        (1.7, 0.0, 18.0),
        (2.3, -2.0, 22.0),
        (2.9, -1.0, 26.0),
        (3.7, -4.0, 30.0),
        (4.5, -2.0, 34.0),
    ),
    *((5.6, -4.0, 38.0), (6.8, -3.0, 42.0), (8.3, -5.0, 46.0), (10.1, -4.0, 50.0), (12.4, -6.0, 54.0)),
    *((15.1, -7.0, 58.0), (18.4, -9.0, 62.0), (22.4, -11.0, 66.0), (27.3, -13.0, 70.0), (33.2, -16.0, 74.0)),
)
"""Modes of a carved box: multiples of that of the air in it, decibels, Q."""

#: times, dB, Q; tuned here, from an ideal membrane's (Fletcher and Rossing, ch. 3, from memory)
_DRUM_MODES = (
    *((1.0, 0.0, 10.0), (1.594, -1.0, 13.0), (2.136, -1.0, 16.0), (2.296, -3.0, 18.0), (2.653, -2.0, 20.0)),
    *((2.918, -3.0, 22.0), (3.156, -3.0, 24.0), (3.501, -4.0, 26.0), (3.6, -4.0, 26.0), (4.06, -5.0, 28.0)),
    *((4.601, -6.0, 30.0), (5.131, -7.0, 32.0), (6.4, -8.0, 34.0), (8.1, -10.0, 36.0), (10.3, -12.0, 40.0)),
    (14.0, -14.0, 44.0),
)
"""The same of a head stretched over a pot."""

#: as the heading says; tuned here, as told above
_LOSSES: dict[str, tuple[float, ...]] = {
    # loss, register, what the bridge takes, from where, per kHz, per kHz^2
    "mandolin": (0.88, 0.0, 2.71, 618, 0.53, 0.34),
    "mandola": (0.73, 0.0, 3.26, 500, 0.53, 0.41),
    "octave-mandolin": (0.67, 0.0, 3.25, 390, 0.53, 0.44),
    "octave-mandolin-octave-strung": (0.67, 0.0, 3.26, 390, 0.53, 0.41),
    "mandocello": (0.62, 0.0, 5.40, 320, 0.57, 0.48),
    "tenor-banjo": (4.3, 0.4, 0.0, 1000, 1.8, 0.2),
    "tenor-banjo-low": (4.0, 0.4, 0.0, 1000, 1.8, 0.2),
    "double-bass": (3.0, 0.4, 0.0, 1000, 7.0, 3.0),
}

#: as the heading says, Hz for the air; tuned here, as told above
_TABLE: dict[str, tuple[tuple[float, ...], float, tuple[Resonance, ...]]] = {
    # pick, bright, noise, knock, sympathy, floor, damping; air resonance; body
    "mandolin": ((85, 20000, 1.60, 0.30, 1.0, 260, 0.050), 205, _BOX),
    "mandola": ((100, 18000, 1.45, 0.30, 1.0, 210, 0.060), 165, _BOX),
    "octave-mandolin": ((115, 16000, 1.30, 0.30, 1.0, 165, 0.070), 130, _BOX),
    "octave-mandolin-octave-strung": ((115, 17000, 1.45, 0.30, 1.0, 165, 0.070), 130, _BOX),
    "mandocello": ((130, 14000, 1.15, 0.30, 1.0, 130, 0.080), 105, _BOX),
    "tenor-banjo": ((70, 19000, 1.80, 0.45, 0.8, 180, 0.045), 280, _DRUM),
    "tenor-banjo-low": ((75, 17000, 1.70, 0.45, 0.8, 150, 0.050), 250, _DRUM),
    "double-bass": ((180, 900, 0.03, 0.10, 0.0, 40, 0.090), 60, _BOX),
}


def _timbre(word: str) -> Timbre:
    numbers, air_hz, shape = _TABLE[word]
    modes = _DRUM_MODES if shape is _DRUM else _BOX_MODES
    body, answers = (
        tuple((round(air_hz * multiple, 1), decibels, q) for multiple, decibels, q in each)
        for each in (shape, modes)
    )
    return Timbre(word, body, answers, *map(float, (*_LOSSES[word], *numbers)))


TIMBRES: dict[str, Timbre] = {word: _timbre(word) for word in _TABLE}
"""By the word of the preset, and that of the bass."""

BASS = TIMBRES["double-bass"]


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
