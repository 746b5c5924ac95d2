"""A peak limiter: looks ahead, so that no sample passes the ceiling and no gain jumps.

The gain needed at each frame is held for the look-ahead, let go slowly, and smoothed over the look-ahead. All of
it is worked out frame by frame from whole numbers of frames: the result does not depend on how blocks are cut.
What begins so late that it was not seen ahead, and is loud at once, is cut off at the ceiling.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

CEILING = 0.966  #: amplitude; derived: -0.3 dB of full scale
"""-0.3 dB of full scale."""

AHEAD = 64  #: frames; implementation limit
"""Frames looked ahead: 1.5 ms; a power of two."""

RELEASE_S = 0.15  #: s; tuned here, by ear
NOTHING = -40.0  #: natural logarithm; implementation limit
"""exp of this is lost beside 1 in a double: the gain is 1."""


class Limiter:
    """Takes blocks of a signal, each with the AHEAD frames after it, in order."""

    def __init__(self, rate: int) -> None:
        self._release = 1.0 / (RELEASE_S * rate)
        self._frame = 0
        self._highest = -np.inf
        self._reductions = np.zeros(AHEAD)

    def limit(self, signal: NDArray[np.float32]) -> NDArray[np.float32]:
        """A block (channels, frames + AHEAD) with the gain that it needs; gives (channels, frames)."""
        frames = signal.shape[1] - AHEAD
        peaks = np.abs(signal).max(axis=0)
        if peaks.max() <= CEILING and self._highest - self._release * self._frame < NOTHING:
            self._frame += frames
            self._reductions[:] = 0.0
            return signal[:, :frames]
        held = _held(1.0 - np.minimum(CEILING / np.maximum(peaks.astype(np.float64), CEILING), 1.0))
        at = (self._frame + np.arange(frames)) * self._release
        with np.errstate(divide="ignore"):
            levels = np.log(held[:frames]) + at
        highest = np.maximum(np.maximum.accumulate(levels), self._highest)
        levels = np.where(highest - at < NOTHING, 0.0, np.exp(highest - at))
        reductions = np.concatenate((self._reductions, levels))
        self._frame += frames
        self._highest = float(highest[-1])
        self._reductions = reductions[-AHEAD:]
        limited = signal[:, :frames] * (1.0 - _smoothed(reductions)[AHEAD:])
        return np.clip(limited, -CEILING, CEILING).astype(np.float32)


def _held(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The greatest of each value and the AHEAD that follow it."""
    held, width = values, 1
    while width < AHEAD:
        held = np.maximum(held[:-width], held[width:])
        width *= 2
    return np.maximum(held[:-1], values[AHEAD:])


def _smoothed(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The mean of each value and the AHEAD - 1 before it, added up in pairs."""
    total, width = values, 1
    while width < AHEAD:
        total = np.concatenate((total[:width], total[width:] + total[:-width]))
        width *= 2
    return total / AHEAD
