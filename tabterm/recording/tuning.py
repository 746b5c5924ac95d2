"""How high a recording is tuned: cents above or below A4 = 440 Hz (ISO 16:1975), by where its partials lie.

Each loud partial lies so many cents off the nearest semitone. Where most of them lie is the tuning: bends, vibrato
and the partials that no semitone has (the fifth lies 14 cents under one) are in the minority.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tabterm.recording.spectra import RATE_HZ

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tabterm.recording.spectra import Samples

WINDOW, HOP = 8192, 4096  #: samples; tuned here: partials to a cent from 200 Hz on
LOWEST_HZ, HIGHEST_HZ = 150.0, 1200.0  #: Hz; tuned here: below bins are too wide, above lie partials of partials
LEAST = 0.02  #: share; tuned here: of the strongest partial of a frame
WIDTH = 4.0  #: cents; tuned here: partials so near to each other are of one tuning
SILENT = 1e-12  #: level; derived: below it a bin has no logarithm
A4_HZ = 440.0  #: Hz; ISO 16:1975
STEPS = 400  #: places of a semitone that are tried; definition: quarters of a cent


def cents_off(sound: Samples) -> float | None:
    """Cents that a mono sound at `spectra.RATE_HZ` is tuned above A4 = 440 Hz, -50 to 50; None for silence."""
    off, weight = _partials(sound)
    if not len(off):
        return None
    places = np.arange(STEPS) * 100 / STEPS - 50
    apart = (places[:, None] - off + 50) % 100 - 50
    near = np.exp(-0.5 * (apart / WIDTH) ** 2) * weight
    best = int(near.sum(axis=1).argmax())
    return float((places[best] + (near[best] * apart[best]).sum() / -near[best].sum() + 50) % 100 - 50)


def a4_hz(cents: float) -> float:
    """What A4 is tuned to, in Hz."""
    return float(A4_HZ * 2 ** (cents / 1200))


def _partials(sound: Samples) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cents off the nearest semitone, and weight, of every peak of the spectra."""
    shape, found, weights = np.hanning(WINDOW + 1)[:-1], [np.zeros(0)], [np.zeros(0)]
    low, high = (round(hz * WINDOW / RATE_HZ) for hz in (LOWEST_HZ, HIGHEST_HZ))
    for start in range(0, max(len(sound) - WINDOW, 0) + 1, HOP):
        frame = sound[start : start + WINDOW]
        level = np.abs(np.fft.rfft(frame * shape[: len(frame)], WINDOW))
        inner = level[low:high]
        peaks = low + np.flatnonzero(
            (inner > level[low - 1 : high - 1])
            & (inner >= level[low + 1 : high + 1])
            & (inner > LEAST * level.max())
        )
        if not level.max() > 0:
            continue
        before, here, after = (np.log(level[peaks + shift] + SILENT) for shift in (-1, 0, 1))
        between = (before - after) / (2 * (before - 2 * here + after))
        semitones = 12 * np.log2((peaks + between) * RATE_HZ / WINDOW / A4_HZ)
        found.append(100 * (semitones - np.round(semitones)))
        weights.append(np.sqrt(level[peaks]))
    return np.concatenate(found), np.concatenate(weights)
