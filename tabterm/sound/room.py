"""The nearest surfaces round the player: a few early reflections, each with a place between left and right."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

REFLECTIONS = (
    *((0.0071, -17.0, -0.55), (0.0113, -18.0, 0.65), (0.0157, -20.0, -0.8), (0.0199, -21.0, 0.8)),
    *((0.0263, -22.5, 0.5), (0.0311, -23.5, -0.5), (0.0367, -25.0, 0.9), (0.0419, -26.0, -0.9)),
)  #: s, dB, -1 left to 1 right; tuned here: a small room with a carpet
"""When each comes, how loud it is against what comes straight, and from where: the side is 12 to 18 dB down."""


class Room:
    """Adds the reflections to a signal that is read block by block, in order.

    Args:
        rate: Frames a second.
        wet: Amplitude of the reflections against the table.
    """

    def __init__(self, rate: int, wet: float = 1.0) -> None:
        self._taps = [
            (round(after_s * rate), wet * 10.0 ** (decibels / 20.0), place)
            for after_s, decibels, place in REFLECTIONS
        ]
        self.frames = max(frames for frames, _, _ in self._taps)
        self._past = np.zeros((2, self.frames), np.float32)

    def around(self, signal: NDArray[np.float32], frames: int) -> NDArray[np.float32]:
        """A block (2, frames and what is looked ahead) with what is reflected of it and of those before it."""
        whole = np.concatenate((self._past, signal), axis=1)
        self._past = whole[:, frames : frames + self.frames]
        middle = whole.mean(axis=0)
        sounding = signal.copy()
        for delay, gain, place in self._taps:
            reflected = middle[self.frames - delay : len(middle) - delay]
            sounding[0] += reflected * np.float32(gain * (1.0 - place))
            sounding[1] += reflected * np.float32(gain * (1.0 + place))
        return sounding
