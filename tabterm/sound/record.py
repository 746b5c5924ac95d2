"""A recording as it sounds in a plan: read ahead by a thread of its own, and joined where it jumps."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import replace
from functools import lru_cache
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tabterm.errors import SoundError, TabtermError
from tabterm.performance.model import Passage
from tabterm.sound.ring import CHANNELS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tabterm.performance.model import Record
    from tabterm.recording.audio import Recording

    Samples = NDArray[np.float32]

AHEAD_S = 1.5  #: s; implementation limit
"""Of its sound that is kept ready: a disk may take so long."""

WITHIN_S = 1.5  #: s; implementation limit
"""A file that gives nothing for so long is silent where it is played; whoever writes a file waits."""

PIECE_S = 15.0  #: s; implementation limit
"""Of a recording that is looked through for attacks at once, before its first sample comes."""

SEAM_S = 0.02  #: s; tuned here: in which one part of a recording gives way to another
BEHIND_S = 0.2  #: s; tuned here: of a recording beyond the end of a part, for the seam and the window on it
SEEK_S = 0.006  #: s; tuned here: how much earlier or later a part may begin, to fit what rings on
EDGE_S = 0.003  #: s; tuned here: in which a part begins or ends beside silence
SAME_S = 2 * SEEK_S  #: s; derived: 2 x SEEK_S; a part that goes on so near to where it is needs no seam

Wanted = tuple["Record", float, float]
"""What of a recording, from which of its seconds to which."""


class Source:
    """A part of a recording at its speed and pitch, from a thread that works ahead.

    Attributes:
        done: Frames read so far.
    """

    def __init__(
        self,
        recording: Recording,
        record: Record,
        from_s: float,
        to_s: float,
        rate: int,
        patience_s: float = WITHIN_S,
    ) -> None:
        from tabterm.recording.slow import slowed

        self.done, self._patience_s = 0, patience_s
        self._from_s, self._speed, self._rate = from_s, record.speed, rate
        self._ready: deque[Samples] = deque()
        self._left = np.zeros((0, CHANNELS), np.float32)
        self._wake, self._held, self._ended, self._closed = threading.Condition(), 0, False, False
        made = slowed(recording, from_s, to_s, record.speed, semitones=record.semitones, rate_hz=rate)
        self._thread = threading.Thread(target=self._fill, args=(made,), daemon=True)
        self._thread.start()

    @property
    def at_s(self) -> float:
        """The second of the recording that is read next."""
        return self._from_s + self.done / self._rate * self._speed

    def _fill(self, made: Iterator[Samples]) -> None:
        try:
            for block in made:
                with self._wake:
                    self._ready.append(block)
                    self._held += len(block)
                    self._wake.notify_all()
                    self._wake.wait_for(lambda: self._closed or self._held < AHEAD_S * self._rate)
                    if self._closed:
                        return
        except TabtermError:
            pass  # a file that is gone or damaged in the middle is silent from there on
        finally:
            with self._wake:
                self._ended = True
                self._wake.notify_all()

    def read(self, frames: int) -> Samples:
        """The next (frames, 2) samples; silence behind its end."""
        parts, wanted = [self._left], frames - len(self._left)
        while wanted > 0:
            with self._wake:
                self._wake.wait_for(lambda: self._ready or self._ended, self._patience_s)
                if not self._ready:
                    parts.append(np.zeros((wanted, CHANNELS), np.float32))
                    break
                parts.append(self._ready.popleft())
                self._held -= len(parts[-1])
                self._wake.notify_all()
            wanted -= len(parts[-1])
        sound = np.concatenate(parts)
        self._left = sound[frames:]
        self.done += frames
        return sound[:frames]

    def ahead(self, frames: int) -> Samples:
        """The same without reading it."""
        sound = self.read(frames)
        self.begin_with(sound)
        return sound

    def begin_with(self, sound: Samples) -> None:
        """Put back what was read, or what is to be heard in its place."""
        self._left = np.concatenate([sound, self._left])
        self.done -= len(sound)

    def close(self) -> None:
        """Let the thread end."""
        with self._wake:
            self._closed = True
            self._wake.notify_all()


class Along:
    """What sounds of recordings while plans are played: one part after another, without a seam.

    Frames are those of the rendition.
    """

    def __init__(self, rate: int, patience_s: float = WITHIN_S) -> None:
        self._rate, self._patience_s = rate, patience_s
        self._opened: dict[str, Recording] = {}
        self._now: tuple[Wanted, Source] | None = None
        self._waits: tuple[Wanted, Source] | None = None
        self._tail = np.zeros((0, CHANNELS), np.float32)

    @property
    def sounds(self) -> bool:
        """Whether there is something left to be heard."""
        return self._now is not None or len(self._tail) > 0

    def wants_next(self, record: Record) -> bool:
        """Whether the last piece of a recording sounds, and nothing is ready to follow it."""
        pieces = _pieces(record)
        return self._waits is None and self._now is not None and self._now[0][2] >= pieces[-1].to_s

    def expect(self, record: Record, at_s: float) -> None:
        """Get ready what is heard of a recording from a moment of its plan on.

        Raises:
            SoundError: It cannot be read.
        """
        piece = next((each for each in _pieces(record) if _end_s(record, each) > at_s), None)
        if piece is None:
            return
        wanted = _from(record, piece, at_s)
        if self._waits is not None and self._waits[0] == wanted:
            return
        if self._waits is not None:
            self._waits[1].close()
        self._waits = wanted, self._source(*wanted)

    def read(self, record: Record | None, start_s: float, frames: int) -> Samples:
        """What is heard in the next frames, of which the first is at a moment of the plan."""
        sound, at = np.zeros((frames, CHANNELS), np.float32), 0
        pieces = _pieces(record) if record else ()
        for number, piece in enumerate(pieces):
            begin = max(round((piece.start_s - start_s) * self._rate), at)
            end = min(round((_end_s(record, piece) - start_s) * self._rate), frames) if record else 0
            if record and begin < end:
                self._rest(sound, at, begin)
                self._sound(sound[begin:end], _from(record, piece, start_s + begin / self._rate))
                at = end
                if self._waits is None and number + 1 < len(pieces):
                    self.expect(record, pieces[number + 1].start_s)
        self._rest(sound, at, frames)
        return sound

    def close(self) -> None:
        """Let all threads end."""
        for each in (self._now, self._waits):
            if each is not None:
                each[1].close()
        self._now = self._waits = None

    def _source(self, record: Record, from_s: float, to_s: float) -> Source:
        from tabterm.recording.audio import Recording
        from tabterm.recording.mix import Mix

        try:
            opened = self._opened.get(record.path) or Recording.opened(Path(record.path))
        except TabtermError as error:
            raise SoundError(f"{Path(record.path).name}: {error.message}", hint=error.hint) from error
        self._opened[record.path] = opened
        # Beyond its end as well, for what rings on under the beginning of the next part.
        heard = replace(opened, mix=Mix.chosen(record.mix))
        return Source(heard, record, from_s, to_s + BEHIND_S, self._rate, self._patience_s)

    def _rest(self, sound: Samples, begin: int, end: int) -> None:
        """Nothing is to be heard for some frames: what was heard before dies away."""
        if begin >= end:
            return
        if self._now is not None:
            (record, _, _), source = self._now
            size = round(EDGE_S * self._rate)
            self._tail = _placed(source.read(size), record) * _falling(size)
            source.close()
            self._now = None
        size = min(len(self._tail), end - begin)
        sound[begin : begin + size] += self._tail[:size]
        self._tail = self._tail[size:]

    def _sound(self, sound: Samples, wanted: Wanted) -> None:
        """Fill frames with a part of a recording, which goes on from what is heard or takes over."""
        before = self._now
        if before is None or not _goes_on(before, wanted):
            source = self._taken(wanted)
            self._join(None if before is None else before[1], source)
            self._now = wanted, source
        else:
            self._now = (wanted[0], *before[0][1:]), before[1]
        block = self._now[1].read(len(sound))
        new = _placed(block, wanted[0])
        if before is not None:
            fading = _falling(len(block))
            new = new * (1 - fading) + _placed(block, before[0][0]) * fading
        sound += new

    def _join(self, before: Source | None, source: Source) -> None:
        """Let a part begin out of silence, or out of what is heard before it."""
        if before is None:
            size = round(EDGE_S * self._rate)
            source.begin_with(source.read(size) * (1 - _falling(size)))
            return
        size = round(SEAM_S * self._rate)
        tail = before.read(size)
        source.read(_best_start(tail, source.ahead(size + round(SEEK_S * self._rate))))
        source.begin_with(_crossed(tail, source.read(size)))
        before.close()

    def _taken(self, wanted: Wanted) -> Source:
        """The part that was got ready, where it is this one."""
        waits, self._waits = self._waits, None
        if waits is not None:
            (record, from_s, to_s), source = waits
            if _alike(record, wanted[0]) and to_s == wanted[2] and abs(from_s - wanted[1]) < SAME_S:
                return source
            source.close()
        return self._source(*wanted)


@lru_cache(maxsize=16)
def _pieces(record: Record) -> tuple[Passage, ...]:
    """Its passages, long ones in pieces."""
    pieces = []
    for passage in record.passages:
        count = max(ceil((passage.to_s - passage.from_s) / PIECE_S), 1)
        size_s = (passage.to_s - passage.from_s) / count
        for number in range(count):
            from_s = passage.from_s + number * size_s
            pieces.append(Passage(passage.start_s + number * size_s / record.speed, from_s, from_s + size_s))
    return tuple(pieces)


def _end_s(record: Record, piece: Passage) -> float:
    return piece.start_s + (piece.to_s - piece.from_s) / record.speed


def _from(record: Record, piece: Passage, at_s: float) -> Wanted:
    """What of the recording is heard from a moment of the plan to the end of a piece."""
    return record, piece.from_s + max(at_s - piece.start_s, 0.0) * record.speed, piece.to_s


def _goes_on(now: tuple[Wanted, Source], wanted: Wanted) -> bool:
    """Whether what is heard is what is wanted, and long enough."""
    (record, _, to_s), source = now
    return _alike(record, wanted[0]) and to_s >= wanted[2] and abs(source.at_s - wanted[1]) < SAME_S


def _alike(one: Record, other: Record) -> bool:
    """Whether two ways to hear a recording differ in nothing but how loud, and where, it is."""
    return all(getattr(one, name) == getattr(other, name) for name in ("path", "speed", "semitones", "mix"))


def _placed(sound: Samples, record: Record) -> Samples:
    """At its level; left alone where all else is heard right."""
    if record.apart:
        sound = np.stack([sound.mean(axis=1), np.zeros(len(sound), np.float32)], axis=1)
    return sound * np.float32(record.level)


def _crossed(old: Samples, new: Samples) -> Samples:
    """One giving way to the other, as loud all along, whether they are alike or not."""
    falling = _falling(len(old))
    power = float(np.sqrt((old * old).sum() * (new * new).sum()))
    alike = max(float((old * new).sum()) / power, 0.0) if power > 0 else 0.0
    rising = 1 - falling
    level = np.sqrt(falling**2 + rising**2 + 2 * alike * falling * rising)
    return ((old * falling + new * rising) / level).astype(np.float32)


def _falling(frames: int) -> Samples:
    return np.linspace(1.0, 0.0, frames, endpoint=False, dtype=np.float32)[:, np.newaxis]


def _best_start(tail: Samples, head: Samples) -> int:
    """By how many frames a part is to begin later, to be most like what rings on where they meet."""
    old, new = tail.mean(axis=1), head.mean(axis=1)
    alike = np.correlate(new, old, "valid")
    power = np.convolve(new * new, np.ones(len(old), np.float32), "valid")
    return int(np.argmax(alike / np.sqrt(power + 1e-9)))
