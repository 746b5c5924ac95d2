"""What sets a string moving: the pick, a finger that comes down, a finger that plucks as it leaves.

Numbers without a source are our choice; how they were set is told in `timbres`.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.sound.tone import ratios_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tabterm.sound.timbre import Timbre

REFERENCE_VELOCITY = 86  #: MIDI velocity; derived: VELOCITY of tabterm.performance.sounds
LOUDNESS_POWER = 1.7  #: exponent; tuned here, by ear
"""Amplitude grows with this power of the velocity."""

BRIGHTNESS_POWER = 1.2  #: exponent; tuned here, by ear
STAGGER_S = 0.0015  #: s; tuned here: about 2 mm at 1.3 m/s
"""Time in which the pick goes from one string of a pair to the other: about 2 mm at 1.3 m/s."""

IN_STEP_HZ = 8000.0  #: Hz; tuned here, by ear
UNSHARP = 0.7  #: part; tuned here, by the partials of recorded plucks
"""What a pick that is wide, and leaves the string not at once, adds in quadrature: it fills the nodes."""

NOISE_S, BODY_S, VARIANTS = 0.06, 0.25, 8  #: s, s, noises; implementation limit
NOISE_FALL_S, NOISE_PEAK_HZ = 0.002, 6500.0  #: s, Hz; tuned here, by ear
NOISE_RISE_S, KNOCK_RISE_S = 0.0002, 0.001  #: s; tuned here, by ear
NOISE_POWER = 0.8  #: exponent; tuned here
"""The noise of the pick grows with this power of the velocity beside what the string does."""

MANY_LEVEL, MANY_FALL_S = 0.035, 0.05  #: times, s; tuned here, by recorded steel strings
MANY_AIR = 7.0  #: times; tuned here: where they are strongest, against the air in the body
FADES_PART = 0.2  #: part; tuned here: of the end, in which what is left of the body fades

MODE_SPREAD_DB = 4.0  #: dB; tuned here
"""By so much the modes of the body are met more or less from stroke to stroke."""


class Touch(NamedTuple):
    """How an attack sets a string off.

    Attributes:
        level: Amplitude against a down-stroke.
        bright: Reach of the spectrum against a down-stroke's.
        place: Of the pick: its distance from the bridge against a down-stroke's. Of a finger: the part of the
            string, from the bridge, at which it acts; 0 is where it left its fret.
        rise_s: Time in which the amplitude rises.
        keeps: What of the string's own movement goes on.
        noise: The pick's noise against a down-stroke's.
        knock: The body's knock against a down-stroke's.
        second: Level of the string of a pair that is met second.
        stagger: Time between the two against a down-stroke's.
        upwards: The second string of a pair is met first.
    """

    level: float
    bright: float
    place: float
    rise_s: float
    keeps: float
    noise: float
    knock: float
    second: float
    stagger: float
    upwards: bool = False

    @property
    def by_pick(self) -> bool:
        """A stroke of the pick, not a finger of the left hand."""
        return self.stagger > 0


#: times, and s for the rise; tuned here, by ear
TOUCHES = {
    "down": Touch(1.0, 1.0, 1.0, 0.0006, 0.0, 1.0, 1.0, 0.85, 1.0),
    "up": Touch(1.0, 1.12, 0.9, 0.0006, 0.0, 1.15, 0.8, 0.75, 0.8, upwards=True),
    "hammer": Touch(0.8, 0.45, 0.9, 0.0015, 0.65, 0.2, 0.2, 1.0, 0.0),
    "pull": Touch(0.9, 0.3, 0.0, 0.0015, 0.35, 0.08, 0.1, 0.9, 0.0),
}
"""By the name of the attack."""


class Letting(NamedTuple):
    """What a finger sounds that lets a stopped course go, against the level of its attack.

    Attributes:
        noise: Peak of the noise of the finger on the strings.
        knock: Peak of what the body answers.
        open_string: Amplitude of the open string that the finger leaves sounding.
    """

    noise: float
    knock: float
    open_string: float


#: times; tuned here: some 40 dB under the attack
RELEASES = {"damps": Letting(0.03, 0.03, 0.0), "leaves": Letting(0.04, 0.03, 0.025)}
"""By the name of the release; one that is not here sounds nothing."""

LEFT_BRIGHT_HZ, LEFT_PARTIALS, LEFT_RISE_S = 2500.0, 10, 0.004  #: Hz, partials, s; tuned here: of a fingertip
"""The open string that a finger leaves is as dull as it is soft."""


def sides(pan: float) -> tuple[np.float32, np.float32]:
    """Amplitudes to the left and right of a place between -1 and 1, of the same power everywhere."""
    angle = (min(max(pan, -1.0), 1.0) + 1.0) * math.pi / 4.0
    return np.float32(math.cos(angle)), np.float32(math.sin(angle))


def level_of(velocity: int) -> float:
    """Amplitude of a velocity against the reference."""
    return float((velocity / REFERENCE_VELOCITY) ** LOUDNESS_POWER)


def brightness_of(velocity: int) -> float:
    """How far the spectrum reaches, against the reference: a harder stroke is brighter."""
    return float((velocity / REFERENCE_VELOCITY) ** BRIGHTNESS_POWER)


@lru_cache(maxsize=512)
def body_response(
    timbre: Timbre, fundamental_hz: float, inharmonicity: float, count: int
) -> NDArray[np.complex128]:
    """What the body makes of the partials of a string: resonances on a floor, as complex factors."""
    hertz = fundamental_hz * ratios_of(inharmonicity, count)
    response = np.ones(len(hertz), np.complex128)
    for centre_hz, decibels, q in timbre.body:
        width = 1j * hertz * centre_hz / q
        response += (10.0 ** (decibels / 20.0) - 1.0) * width / (centre_hz**2 - hertz**2 + width)
    return response * hertz**2 / (hertz**2 + timbre.floor_hz**2)


def spectrum(
    timbre: Timbre, hertz: float, inharmonicity: float, count: int, place: float, bright_hz: float
) -> NDArray[np.complex128]:
    """The partials of a string plucked at `place` of its length as the body gives them, with unit power.

    They are nothing where the touch is so soft that none is set off. An ideal pluck at p gives the force at the
    bridge a partial k of sin(pi k p) / k (Fletcher and Rossing, The Physics of Musical Instruments, 2nd ed. 1998,
    ch. 2; from memory).
    """
    k = np.arange(1, count + 1)
    partials_hz = hertz * ratios_of(inharmonicity, count)
    meets = math.pi * k * place
    weights = (np.sin(meets) + 1j * UNSHARP * np.cos(meets)) / k * np.exp(-partials_hz / bright_hz)
    partials = weights * body_response(timbre, hertz, inharmonicity, count)
    return np.asarray(partials / (np.linalg.norm(partials) or 1.0))


#: dB, partials, cents, part; tuned here, by recorded steel strings
SYMPATHY_DB, SYMPATHY_PARTIALS, SYMPATHY_CENTS, SYMPATHY_FLOOR = -31.0, 10, 15.0, 0.1
"""How an open course answers another that is struck: amplitude where their partials meet, how many, how near they
have to be, and what the stroke gives to all of them."""


def sympathy(hertz: float, struck_hz: float, count: int) -> NDArray[np.float64]:
    """Amplitudes of the first partials of an open string while another is struck, against that one's."""
    k = np.arange(1, min(count, SYMPATHY_PARTIALS) + 1)
    nearest = np.maximum(np.rint(k * hertz / struck_hz), 1.0)
    apart = 1200.0 * np.log2(k * hertz / (nearest * struck_hz))
    met = SYMPATHY_FLOOR + (1.0 - SYMPATHY_FLOOR) / (1.0 + (apart / SYMPATHY_CENTS) ** 2)
    return np.asarray(10.0 ** (SYMPATHY_DB / 20.0) * met / k)


def arrival(partials_hz: NDArray[np.float64], late_s: float, rise_s: float) -> NDArray[np.complex128]:
    """Phases at the attack, as factors: the wave reaches the bridge when the attack has risen.

    A string that is met later than the first of its pair comes into step with it, for its low partials: the bridge
    that both share pulls them together. Without it, notes near 1 / (2 `late_s`) would be hollow (our
    choice, no source).
    """
    together = 1.0 / (1.0 + (partials_hz / IN_STEP_HZ) ** 4)
    return np.asarray(np.exp(2j * math.pi * partials_hz * (late_s * together - rise_s)))


@lru_cache(maxsize=64)
def bursts(timbre: Timbre, rate: int, seed: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Noises of the pick and answers of the body to a stroke, one a row, each with a peak of 1."""
    chance = np.random.default_rng((seed, 1))
    return _noises(rate, chance), _answers(timbre, rate, chance)


def _noises(rate: int, chance: np.random.Generator) -> NDArray[np.float32]:
    frames = round(NOISE_S * rate)
    time_s = np.arange(frames) / rate
    scatter = chance.standard_normal((VARIANTS, frames))
    envelope = (1.0 - np.exp(-time_s / NOISE_RISE_S)) * np.exp(-time_s / NOISE_FALL_S)
    hertz = np.fft.rfftfreq(frames, 1.0 / rate)
    colour = (hertz / NOISE_PEAK_HZ) * np.exp(1.0 - hertz / NOISE_PEAK_HZ)
    noise = np.fft.irfft(np.fft.rfft(scatter * envelope) * colour, frames)
    noise *= np.linspace(1.0, 0.0, frames) ** 2
    return np.asarray(noise / np.abs(noise).max(axis=1, keepdims=True), np.float32)


def _answers(timbre: Timbre, rate: int, chance: np.random.Generator) -> NDArray[np.float32]:
    """What the modes of the body do when it is struck: the lowest one by one, the many above them as a noise."""
    frames = round(BODY_S * rate)
    time_s = np.arange(frames) / rate
    answers = np.zeros((VARIANTS, frames))
    for centre_hz, decibels, q in timbre.modes:
        met = 10.0 ** ((decibels + MODE_SPREAD_DB * chance.uniform(-1.0, 1.0, VARIANTS)) / 20.0)
        turning = 2.0 * math.pi * centre_hz * time_s
        answers += np.outer(met, np.exp(-math.pi * centre_hz / q * time_s) * np.sin(turning))
    begins = np.minimum(time_s / KNOCK_RISE_S, 1.0)
    answers /= np.abs(answers * begins).max(axis=1, keepdims=True)
    answers += MANY_LEVEL * _many(timbre, rate, chance)
    return np.asarray(answers * begins * np.minimum((1.0 - time_s / BODY_S) / FADES_PART, 1.0), np.float32)


def _many(timbre: Timbre, rate: int, chance: np.random.Generator) -> NDArray[np.float64]:
    """The modes that lie too near each other to be told apart, with a power of 1 at the start."""
    frames = round(BODY_S * rate)
    hertz = np.fft.rfftfreq(frames, 1.0 / rate) / (MANY_AIR * timbre.modes[0][0])
    scatter = chance.standard_normal((VARIANTS, frames)) * np.exp(-np.arange(frames) / (MANY_FALL_S * rate))
    noise = np.fft.irfft(np.fft.rfft(scatter) * hertz / (1.0 + hertz**2), frames)
    start = round(MANY_FALL_S * rate / 2)
    return np.asarray(noise / np.sqrt(np.mean(noise[:, :start] ** 2, axis=1, keepdims=True)))
