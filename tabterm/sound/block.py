"""The click: a wood block, as two damped resonances and the knock of the stick."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from tabterm.sound.layer import Stops

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tabterm.performance.model import Pluck

LEVEL = 0.72  #: amplitude; tuned here, to lie over the strokes of a solo
LENGTH_S = 0.12  #: s; tuned here, by ear
FALL_S = 0.014  #: s; tuned here, by ear
HIGH_HZ, LOW_HZ = 1650.0, 1180.0  #: Hz; tuned here, by ear
SECOND_MODE, SECOND_LEVEL = 2.42, 0.35  #: times the pitch, times the level; tuned here, by ear
HIGH_PITCH = 76  #: MIDI note; General MIDI 1 percussion map
"""High wood block of the General MIDI 1 percussion map; any other click is the low one."""

LOUDNESS_POWER = 1.7  #: exponent; tuned here, by ear


class Block:
    """A stroke on the wood block, in the middle."""

    def __init__(self, pluck: Pluck, start: int, rate: int) -> None:
        self.pluck, self.start = pluck, start
        self._rate = rate
        self._stops = Stops()
        self._samples = knock(HIGH_HZ if pluck.pitch == HIGH_PITCH else LOW_HZ, rate)
        self._level = np.float32(LEVEL * math.sqrt(0.5) * (pluck.velocity / 100.0) ** LOUDNESS_POWER)

    @property
    def end(self) -> int:
        """The frame from which on nothing sounds."""
        return min(self.start + len(self._samples), self._stops.end)

    @property
    def stopped(self) -> int:
        """The same: nothing goes on behind it."""
        return self.end

    def cut(self, at: int, fade_s: float) -> None:
        """Silence it from a frame on."""
        self._stops.cut(at, round(fade_s * self._rate))

    def release(self, at: int) -> None:
        """Nothing damps wood."""

    def add(self, bus: NDArray[np.float32], first: int) -> None:
        """Add what it sounds to a block (2, frames) that begins at frame `first`."""
        low, high = max(first, self.start), min(first + bus.shape[1], self.end)
        if low >= high:
            return
        samples = self._samples[low - self.start : high - self.start] * self._level
        envelope = self._stops.envelope(low, high)
        bus[:, low - first : high - first] += samples if envelope is None else samples * envelope


@lru_cache(maxsize=16)
def knock(hertz: float, rate: int) -> NDArray[np.float32]:
    """A stroke of the stick with a peak of 1; it has died away at the end."""
    time_s = np.arange(round(LENGTH_S * rate)) / rate
    first = np.exp(-time_s / FALL_S) * np.sin(2.0 * math.pi * hertz * time_s)
    fall = np.exp(-time_s * SECOND_MODE / FALL_S)
    second = SECOND_LEVEL * fall * np.sin(2.0 * math.pi * hertz * SECOND_MODE * time_s)
    struck = (first + second) * np.linspace(1.0, 0.0, len(time_s)) ** 2
    return np.asarray(struck / np.abs(struck).max(), np.float32)
