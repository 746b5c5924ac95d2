"""The ring between what renders samples and the audio device, which takes them when it must have them."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

CHANNELS = 2  #: channels; definition: stereo


class Ring:
    """A little sound, ahead of its time; `put` and `cut` for one thread, `take` for another.

    Attributes:
        put_frames: Frames put in so far, less those that have been cut off again.
        taken_frames: Frames taken out so far, and those that came too late: what is missed is left out, so that
            the beat stays.
        taken_s: When frames were last taken, on the monotonic clock.
        last_taken: `taken_frames` before that.
        flows: More is to come: whatever is missing now came too late.
        underruns: How often frames came too late, or several times in a row.
    """

    def __init__(self, frames: int) -> None:
        self._samples = np.zeros((frames, CHANNELS), np.float32)
        self._lock = threading.Lock()
        self.put_frames = 0
        self.taken_frames = 0
        self.taken_s = 0.0
        self.last_taken = 0
        self.flows = False
        self.underruns = 0
        self._starved = False

    @property
    def filled(self) -> int:
        """Frames that wait."""
        return self.put_frames - self.taken_frames

    def put(self, block: NDArray[np.float32], *, last: bool = False) -> None:
        """Add (frames, 2) samples, for which there must be room; nothing is to come after the last."""
        with self._lock:
            missed = min(max(-self.filled, 0), len(block))
            self.put_frames += missed
            block = block[missed:]
            start, size = self.put_frames % len(self._samples), len(self._samples)
            first = block[: size - start]
            self._samples[start : start + len(first)] = first
            self._samples[: len(block) - len(first)] = block[len(first) :]
            self.put_frames += len(block)
            self.flows = not last

    def take(self, frames: int) -> NDArray[np.float32]:
        """The next (frames, 2) samples; silence where there are none."""
        taken = np.zeros((frames, CHANNELS), np.float32)
        with self._lock:
            count = min(frames, max(self.filled, 0))
            places = np.arange(self.taken_frames, self.taken_frames + count) % len(self._samples)
            taken[:count] = self._samples[places]
            self.last_taken, self.taken_s = self.taken_frames, time.monotonic()
            self.taken_frames += frames if self.flows else count
            starved = self.flows and count < frames
            self.underruns += starved and not self._starved
            self._starved = starved
        return taken

    def cut(self, fade_frames: int) -> None:
        """Fade out what comes next, and drop the rest."""
        with self._lock:
            count = min(fade_frames, max(self.filled, 0))
            places = np.arange(self.taken_frames, self.taken_frames + count) % len(self._samples)
            self._samples[places] *= np.linspace(1.0, 0.0, count, dtype=np.float32)[:, np.newaxis]
            self.put_frames = self.taken_frames + count
            self.flows = False
