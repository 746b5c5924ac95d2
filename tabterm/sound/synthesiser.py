"""The built-in instrument: plucks in, stereo samples out.

Everything that will sound is known as voices, each of which can tell its samples at any frame. A block is their
sum, so that what is read does not depend on how it is cut into blocks, and a voice may be added or silenced up to
the frame that is read next, although the limiter looks ahead of it.

The limiter holds the gain needed at each frame for its look-ahead, lets it go slowly and smooths it over the
look-ahead, frame by frame from whole numbers of frames, so that the result does not depend on how blocks are cut.
What begins so late that it was not seen ahead, and is loud at once, is cut off at the ceiling.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from itertools import takewhile
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tabterm.sound.block import Block
from tabterm.sound.room import Room
from tabterm.sound.voice import Voice

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from tabterm.performance.model import Part, Pluck
    from tabterm.sound.voicing import SoundVoicing


CEILING = 0.966  #: amplitude; derived: -0.3 dB of full scale
"""-0.3 dB of full scale."""

AHEAD = 64  #: frames; implementation limit
"""Frames looked ahead: 1.5 ms; a power of two."""

RELEASE_S = 0.15  #: s; tuned here, by ear
NOTHING = -40.0  #: natural logarithm; implementation limit
"""exp of this is lost beside 1 in a double: the gain is 1."""


class Level(NamedTuple):
    """How loud what is played is made: a factor, and the amplitude that no sample goes over then."""

    gain: float = 1.0
    ceiling: float = CEILING


AS_IT_IS = Level()
"""What the voices give."""


class Limiter:
    """Takes blocks of a signal, each with the AHEAD frames after it, in order."""

    def __init__(self, rate: int, ceiling: float = CEILING) -> None:
        self._release, self._ceiling = 1.0 / (RELEASE_S * rate), ceiling
        self._frame = 0
        self._highest = -np.inf
        self._reductions = np.zeros(AHEAD)

    def limit(self, signal: NDArray[np.float32]) -> NDArray[np.float32]:
        """A block (channels, frames + AHEAD) with the gain that it needs; gives (channels, frames)."""
        frames = signal.shape[1] - AHEAD
        peaks = np.abs(signal).max(axis=0)
        if peaks.max() <= self._ceiling and self._highest - self._release * self._frame < NOTHING:
            self._frame += frames
            self._reductions[:] = 0.0
            return signal[:, :frames]
        held = _held(1.0 - np.minimum(self._ceiling / np.maximum(peaks.astype(np.float64), self._ceiling), 1.0))
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
        return np.clip(limited, -self._ceiling, self._ceiling).astype(np.float32)


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


RATE = 44_100  #: frames a second; common practice, no source: that of a compact disc
"""Frames a second, where nothing else is asked for."""

CUT_S = 0.012  #: s; tuned here, by ear
"""Time in which a cut silences everything: no click, and no tail that is heard as one."""


NOTHING_KEPT: Mapping[tuple[Part, int], int] = MappingProxyType({})


class Synthesiser:
    """Plays plucks with the voices of a voicing; equal calls with an equal seed give equal samples.

    Args:
        voicing: What each part sounds like.
        rate: Frames a second.
        seed: What the small differences between attacks go by.
        first: The frame that is read first; one below 0 is of what sounded before.
        period: Frames after which the same attacks come again, without small differences; 0 is never.
        level: How loud it is.

    Attributes:
        frame: The frame that `read` gives next.
    """

    def __init__(
        self,
        voicing: SoundVoicing,
        rate: int = RATE,
        seed: int = 0,
        *,
        first: int = 0,
        period: int = 0,
        level: Level = AS_IT_IS,
    ) -> None:
        self.frame = first
        self._voicing, self._rate, self._seed, self._period = voicing, rate, seed, period
        self._voices: list[Voice | Block] = []
        self._courses: dict[tuple[Part, int], list[Voice]] = {}
        self._gain, self._limiter = np.float32(level.gain), Limiter(rate, level.ceiling)
        self._room = Room(rate, voicing.room)
        self._tail = self._room.frames + AHEAD

    @property
    def sounding(self) -> bool:
        """Whether anything is still to be heard, tails and what is scheduled included."""
        return bool(self._voices)

    def play(self, pluck: Pluck, origin: int) -> None:
        """Schedule a pluck, whose times count from frame `origin`; one that is late begins at once."""
        start = max(origin + round(pluck.start_s * self._rate), self.frame)
        part = self._voicing.parts.get(pluck.part)
        if part is None:
            insort(self._voices, Block(pluck, start, self._rate), key=_start)
            return
        course = self._courses.setdefault((pluck.part, pluck.course), [])
        place = bisect_right(course, start, key=_start)
        before = course[place - 1] if place else None
        voice = Voice(pluck, start, part, self._rate, self._seed, before, self._period)
        if place:
            course[place - 1].choke(start)
        if place < len(course):
            voice.choke(course[place].start)
        course.insert(place, voice)
        insort(self._voices, voice, key=_start)

    def cut(self, at: int, keep: Mapping[tuple[Part, int], int] = NOTHING_KEPT) -> None:
        """Silence everything at a frame, and forget what was to begin there or later.

        Args:
            at: The frame; one that has been read already is the next.
            keep: Courses of parts that sound on nevertheless, up to the frame given.
        """
        at = max(at, self.frame)
        begun = [voice for voice in self._voices if voice.start < at]
        last = {(voice.pluck.part, voice.pluck.course): voice for voice in begun}
        for voice in begun:
            until = keep.get((voice.pluck.part, voice.pluck.course))
            if voice.stopped <= at:
                continue
            if until is None:
                voice.cut(at, CUT_S)
            elif voice is last[voice.pluck.part, voice.pluck.course]:  # those before it have been stopped by it
                voice.release(until)
        self._voices = begun
        for course in self._courses.values():
            course[:] = [voice for voice in course if voice.start < at]

    def read(self, frames: int) -> NDArray[np.float32]:
        """The next frames, as (frames, 2) between -1 and 1."""
        bus = np.zeros((2, frames + AHEAD), np.float32)
        for voice in self._voices:
            if voice.start >= self.frame + frames + AHEAD:
                break
            voice.add(bus, self.frame)
        self.frame += frames
        self._forget()
        bus = self._room.around(bus, frames)
        bus *= self._gain
        return np.ascontiguousarray(self._limiter.limit(bus).T)

    def _forget(self) -> None:
        """Let go of the voices that have ended; those still to come need not be looked at."""
        begun = takewhile(lambda voice: voice.start < self.frame, self._voices)
        for voice in [voice for voice in begun if voice.end + self._tail <= self.frame]:
            self._voices.remove(voice)
            course = self._courses.get((voice.pluck.part, voice.pluck.course), [])
            if voice in course:
                course.remove(voice)


def _start(voice: Voice | Block) -> int:
    return voice.start
