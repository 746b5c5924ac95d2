"""Strings and a noise that begin together, and the fades that take them away together."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from tabterm.sound.tone import StringTone

NEVER = 1 << 62  #: frames; implementation limit


class Stops:
    """The fades of what is taken away together: its release, and what cuts it before or meanwhile."""

    def __init__(self) -> None:
        self._release = (NEVER, 1)
        self._cuts: list[tuple[int, int]] = []

    def release(self, at: int, length: int) -> None:
        """Fade from frame `at` on, instead of from where it was to."""
        self._release = (at, max(length, 1))

    def cut(self, at: int, length: int) -> None:
        """Fade from `at` on as well."""
        self._cuts.append((at, max(length, 1)))

    @property
    def end(self) -> int:
        """The frame from which on nothing is left."""
        return min(at + length for at, length in (self._release, *self._cuts))

    def envelope(self, first: int, last: int) -> NDArray[np.float32] | None:
        """Factors for the frames of a range; None where all are 1."""
        envelope = None
        for at, length in (self._release, *self._cuts):
            if at < last:
                part = _fade(first - at, last - at, length)
                envelope = part if envelope is None else envelope * part
        return envelope


def _fade(first: int, last: int, length: int) -> NDArray[np.float32]:
    """A part of a fade that begins at 0: 1 before it, 0 after it."""
    inside = _curve(length)[max(first, 0) : max(last, 0)]
    before = max(min(last, 0) - first, 0)
    after = last - first - before - len(inside)
    return np.concatenate((np.ones(before, np.float32), inside, np.zeros(after, np.float32)))


@lru_cache(maxsize=64)
def _curve(length: int) -> NDArray[np.float32]:
    """From 1 to 0: the quick fall of a damped string, brought to nothing along a squared cosine."""
    part = (np.arange(length) + 1) / (length + 1)
    return (np.cos(part * math.pi / 2) ** 2 * np.exp(-2.0 * part)).astype(np.float32)


class Sounding(NamedTuple):
    """A string of the course: frames until it is met, its samples, its level on either side."""

    delay: int
    tone: StringTone
    left: np.float32
    right: np.float32


class Layer:
    """What sounds from one moment on; filled when that is first heard.

    Attributes:
        start: Its first frame.
        stops: How it ends.
        strings: What sounds on until then; None while it is not filled.
    """

    def __init__(self, start: int) -> None:
        self.start = start
        self.stops = Stops()
        self.strings: tuple[Sounding, ...] | None = None
        self._noise = np.zeros((2, 0), np.float32)

    def fill(self, strings: Iterable[Sounding], noise: NDArray[np.float32] | None = None) -> None:
        """Say what it is: strings, and a noise (2, frames) that begins at once."""
        self.strings = tuple(strings)
        if noise is not None:
            self._noise = noise

    @property
    def end(self) -> int:
        """The frame from which on nothing of it sounds: stopped, or died away as far as that is known."""
        if self.strings is None:
            return self.stops.end
        ends = [
            NEVER if each.tone.end is None else self.start + each.delay + each.tone.end for each in self.strings
        ]
        return min(self.stops.end, max(*ends, self.start, self.start + self._noise.shape[1]))

    def add(self, bus: NDArray[np.float32], first: int) -> None:
        """Add what it sounds to a block (2, frames) that begins at frame `first`."""
        for string in self.strings or ():
            attack = self.start + string.delay
            low, high = max(first, attack), min(first + bus.shape[1], self.stops.end)
            if low < high:
                samples = self._faded(string.tone.samples(low - attack, high - attack), low, high)
                bus[0, low - first : high - first] += samples * string.left
                bus[1, low - first : high - first] += samples * string.right
        low = max(first, self.start)
        high = min(first + bus.shape[1], self.start + self._noise.shape[1], self.stops.end)
        if low < high:
            noise = self._noise[:, low - self.start : high - self.start]
            bus[:, low - first : high - first] += self._faded(noise, low, high)

    def _faded(self, samples: NDArray[np.float32], low: int, high: int) -> NDArray[np.float32]:
        envelope = self.stops.envelope(low, high)
        return samples if envelope is None else samples * envelope
