"""How a voice is silenced: fades without a corner that can be heard."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

NEVER = 1 << 62  #: frames; implementation limit


class Stops:
    """The fades of a voice, which take it away together: its release, and what cuts it before or meanwhile."""

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
