"""How loud a recording is, to be looked at: a pyramid of peaks in a few megabytes, however long it is."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from tabterm.errors import TabtermError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from tabterm.recording.audio import Recording

FRAMES = 256  #: frames; implementation limit: a peak of the lowest level, 6 ms of a compact disc
STEP, LEVELS = 8, 4  #: peaks; implementation limit: of a level that one of the next is the highest of
EIGHTHS = " ▁▂▃▄▅▆▇█"
THIRDS = " .:#"
"""What a cell is filled with, the least first: for any terminal, and where it shows ASCII only."""


class Waveform:
    """The peaks of a recording, as far as it has been read.

    Attributes:
        recording: Of what.
        read_s: How much of it has been read.
        trouble: Why no more can be; "" where all can.
    """

    def __init__(self, recording: Recording) -> None:
        self.recording = recording
        self.read_s = 0.0
        self.trouble = ""
        size = -(-recording.frames // FRAMES)
        self._levels: list[NDArray[np.uint8]] = [
            np.zeros(-(-size // STEP**level), np.uint8) for level in range(LEVELS)
        ]
        self._loudest = 1

    @property
    def is_read(self) -> bool:
        """All that can be read has been."""
        return bool(self.trouble) or self.read_s > self.recording.length_s - 1

    def read(self, progress: Callable[[float], bool] | None = None) -> None:
        """Read all of it, a second at a time; `progress` stops it by answering False.

        A file that is damaged or cut off is read up to there: `trouble` says so.
        """
        recording = self.recording
        kept, done = np.zeros(0, np.float32), 0
        try:
            for block in recording.stereo(0.0, recording.length_s):
                sound = np.concatenate([kept, np.abs(block).max(axis=1)])
                count = len(sound) // FRAMES
                self._put(done, sound[: count * FRAMES].reshape(count, FRAMES).max(axis=1, initial=0))
                kept, done = sound[count * FRAMES :], done + count
                self.read_s = (done * FRAMES + len(kept)) / recording.rate_hz
                if progress and not progress(self.read_s / recording.length_s):
                    return
            if len(kept):
                self._put(done, kept.max(keepdims=True))
        except TabtermError as error:
            self.trouble = f"{recording.path.name}: {error.message} from {self.read_s:.1f} s on"
        else:
            if self.read_s < recording.length_s - 1:
                self.trouble = (
                    f"{recording.path.name} is cut off at {self.read_s:.1f} s of {recording.length_s:.1f}"
                )

    def _put(self, first: int, peaks: NDArray[np.float32]) -> None:
        new = np.minimum(np.ceil(peaks * 255), 255).astype(np.uint8)
        self._loudest = max(self._loudest, int(new.max(initial=0)))
        low, high = first, min(first + len(new), len(self._levels[0]))
        self._levels[0][low:high] = new[: high - low]
        for below, level in zip(self._levels, self._levels[1:], strict=False):
            low, high = low // STEP, -(-high // STEP)
            part = below[low * STEP : high * STEP]
            part = np.pad(part, (0, -len(part) % STEP))
            level[low:high] = part.reshape(-1, STEP).max(axis=1)

    def peaks(self, from_s: float, to_s: float, columns: int) -> list[float]:
        """The loudest of each of so many equal parts, 0 to 1 of the loudest of all; 0 where nothing was read."""
        rate = self.recording.rate_hz / FRAMES
        number = 0
        while number + 1 < LEVELS and (to_s - from_s) * rate / columns >= 2 * STEP ** (number + 1):
            number += 1
        level, rate = self._levels[number], rate / STEP**number
        edges = np.floor((from_s + np.arange(columns + 1) * (to_s - from_s) / columns) * rate).astype(int)
        return [
            float(level[max(low, 0) : max(high, low + 1, 0)].max(initial=0)) / self._loudest
            for low, high in itertools.pairwise(edges)
        ]


def drawn(peaks: list[float], height: int, *, ascii_only: bool = False) -> list[str]:
    """Peaks as lines of characters, the top one first."""
    cells = THIRDS if ascii_only else EIGHTHS
    steps = len(cells) - 1
    filled = [round(peak * height * steps) or int(peak > 0) for peak in peaks]
    return [
        "".join(cells[min(max(each - (height - 1 - row) * steps, 0), steps)] for each in filled)
        for row in range(height)
    ]
