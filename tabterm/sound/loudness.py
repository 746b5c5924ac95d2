"""How loud samples are, as ITU-R BS.1770-4 and EBU R 128 measure it, and at what level a file is written."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import soxr

from tabterm.sound.ring import CHANNELS
from tabterm.sound.synthesiser import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

TARGET_LUFS = -18.0  #: LUFS; tuned here: room for the peaks of plucked strings
PEAK_DBTP = -1.0  #: dBTP; from memory: EBU R 128 (2014), the highest true peak
SAMPLES_DB = -1.5  #: dB of full scale; tuned here: true peaks lie up to half a decibel over the samples
MOST_LIMITED_DB = 6.0  #: dB; tuned here
"""No more is taken from a peak: what has nothing but peaks, a click alone, stays below the target."""

NEAR_DB = 0.1  #: dB; tuned here
PASSES = 3  #: passes; implementation limit
"""How often a level that the limiter works on is measured and mended."""

STEP_S, STEPS = 0.1, 4  #: s, steps; ITU-R BS.1770-4: blocks of 0.4 s, three quarters of which overlap
LEAST_LUFS, LEAST_LU = -70.0, -10.0  #: LUFS, LU; ITU-R BS.1770-4, the two gates
OFFSET_DB = -0.691  #: dB; ITU-R BS.1770-4
RESPONSE_S = 0.18  #: s; measured here
"""By then the response of both filters is over."""

OVERSAMPLED = 4  #: times; ITU-R BS.1770-4, annex 2

# The two filters of BS.1770-4 as they are before they are made digital, so that they fit any rate; a test holds
# them against its tables for 48 kHz.
SHELF_HZ, SHELF_DB, SHELF_Q = 1681.974450955533, 3.999843853973347, 0.7071752369554196  #: Hz, dB, Q; from memory
SHELF_MIDDLE = 0.4996667741545416  #: exponent; from memory
HIGH_PASS_HZ, HIGH_PASS_Q = 38.13547087602444, 0.5003270373238773  #: Hz, Q; from memory

Filter = tuple[tuple[float, float, float], tuple[float, float, float]]
"""Factors of the input and of the output, each for this frame and the two before it."""


class Measured(NamedTuple):
    """What was measured: mean squares of every STEP_S, weighted as the ear hears; the highest true peak in dB."""

    steps: NDArray[np.float64]
    peak_db: float

    def lufs(self, *, again_from_s: float = math.inf, times: int = 1) -> float:
        """Integrated loudness; what reaches beyond a moment may count so many times. -inf of silence."""
        if len(self.steps) < STEPS:
            return -math.inf
        powers = np.convolve(self.steps, np.ones(STEPS) / STEPS, "valid")
        ends_s = (np.arange(len(powers)) + STEPS) * STEP_S
        weights = np.where(ends_s > again_from_s, times, 1)
        gate = 10.0 ** ((LEAST_LUFS - OFFSET_DB) / 10.0)
        for below_lu in (LEAST_LU, None):
            heard = powers > gate
            if not heard.any():
                return -math.inf
            mean = float(np.average(powers[heard], weights=weights[heard]))
            if below_lu is not None:
                gate = max(gate, mean * 10.0 ** (below_lu / 10.0))
        return OFFSET_DB + 10.0 * math.log10(mean)


def measured(blocks: Iterable[NDArray[np.float32]], rate: int) -> Measured:
    """Measure samples (frames, 2) that come block by block."""
    half = 1 << math.ceil(math.log2(rate * RESPONSE_S))
    response = weighting(rate, 2 * half)
    step, finer = round(STEP_S * rate), soxr.ResampleStream(rate, OVERSAMPLED * rate, CHANNELS)
    before: NDArray[np.float64] = np.zeros((half, CHANNELS))
    waiting: NDArray[np.float64] = np.zeros(0)
    steps, peak = [np.zeros(0)], 0.0
    for block in blocks:
        for part in np.array_split(block, math.ceil(len(block) / half)):
            window = np.concatenate((before, part.astype(np.float64)))[-half - len(part) :]
            spectrum = np.fft.rfft(window, 2 * half, axis=0)
            heard = np.fft.irfft(spectrum * response[:, None], axis=0)[half : half + len(part)]
            before = window[-half:]
            waiting = np.concatenate((waiting, np.square(heard).sum(axis=1)))
            whole = len(waiting) // step * step
            steps.append(waiting[:whole].reshape(-1, step).mean(axis=1))
            waiting = waiting[whole:]
        peak = max(peak, _highest(finer.resample_chunk(block)))
    peak = max(peak, _highest(finer.resample_chunk(np.zeros((0, CHANNELS), np.float32), last=True)))
    return Measured(np.concatenate(steps), 20.0 * math.log10(peak) if peak else -math.inf)


def _highest(samples: NDArray[np.float32]) -> float:
    return float(np.abs(samples).max(initial=0.0))


def shelf(rate: int) -> Filter:
    """The first filter of BS.1770-4: what the head does to high tones."""
    w, high = math.tan(math.pi * SHELF_HZ / rate), 10.0 ** (SHELF_DB / 20.0)
    damping, middle = w / SHELF_Q, high**SHELF_MIDDLE
    whole = 1.0 + damping + w * w
    ahead = (high + middle * damping + w * w, 2.0 * (w * w - high), high - middle * damping + w * w)
    back = (whole, 2.0 * (w * w - 1.0), 1.0 - damping + w * w)
    return (ahead[0] / whole, ahead[1] / whole, ahead[2] / whole), (1.0, back[1] / whole, back[2] / whole)


def high_pass(rate: int) -> Filter:
    """The second: low tones count less."""
    w = math.tan(math.pi * HIGH_PASS_HZ / rate)
    damping = w / HIGH_PASS_Q
    whole = 1.0 + damping + w * w
    return (1.0, -2.0, 1.0), (1.0, 2.0 * (w * w - 1.0) / whole, (1.0 - damping + w * w) / whole)


def weighting(rate: int, size: int) -> NDArray[np.complex128]:
    """What both do to the tones of a real Fourier transform of so many frames."""
    delay = np.exp(-2j * math.pi * np.arange(size // 2 + 1) / size)
    response = np.ones(len(delay), np.complex128)
    for ahead, back in (shelf(rate), high_pass(rate)):
        response *= np.polyval(ahead[::-1], delay) / np.polyval(back[::-1], delay)
    return response


def level_for(measure: Callable[[Level], tuple[float, float]], *, limited: bool = True) -> Level:
    """The level at which something is TARGET_LUFS loud and no true peak goes over PEAK_DBTP.

    Args:
        measure: Gives loudness in LUFS and the true peak in dB at a level.
        limited: The limiter may take up to MOST_LIMITED_DB from the peaks; else it is softer instead.
    """
    lufs, peak_db = measure(Level(1.0, math.inf))
    if math.isinf(lufs):
        return Level()
    most_db = SAMPLES_DB - peak_db + (MOST_LIMITED_DB if limited else 0.0)
    gain_db, ceiling_db = min(TARGET_LUFS - lufs, most_db), SAMPLES_DB
    if peak_db + gain_db > SAMPLES_DB + NEAR_DB / 2:
        for _ in range(PASSES):
            lufs, peak_db = measure(Level(_amplitude(gain_db), _amplitude(ceiling_db)))
            over_db, wanted_db = max(peak_db - PEAK_DBTP, 0.0), min(gain_db + TARGET_LUFS - lufs, most_db)
            if not over_db and abs(wanted_db - gain_db) < NEAR_DB:
                break
            gain_db, ceiling_db = wanted_db, ceiling_db - over_db
    return Level(_amplitude(gain_db), _amplitude(ceiling_db))


def _amplitude(decibels: float) -> float:
    return math.pow(10.0, decibels / 20.0)
