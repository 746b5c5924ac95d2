"""A recording on disk: how long it is, and the sound of any part of it at any rate; it is never written to."""

from __future__ import annotations

import errno
import hashlib
import os
from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np
import soxr

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, StorageError
from tabterm.recording.mix import PLAIN, Mix
from tabterm.storage import opening
from tabterm.storage.refusals import disk_words

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray
    from soundfile import SoundFile

    Samples = NDArray[np.float32]

BLOCK_S = 1.0  #: s; tuned here: what is read at a time, 0.4 MB of a stereo recording
PRINTED_BYTES, PRINTED_DIGITS = 65_536, 32  #: bytes, digits; tuned here: of each part of a fingerprint; of it all
CAN_BE_READ = "WAV, FLAC, Ogg, MP3 or AIFF"


@dataclass(frozen=True, slots=True)
class Recording:
    """What a file of audio holds.

    Attributes:
        path: The file.
        rate_hz: Samples a second.
        channels: How many.
        frames: Samples of each channel.
        mix: What of it is heard; `mono` gives all of it.
    """

    path: Path
    rate_hz: int
    channels: int
    frames: int
    mix: Mix = PLAIN

    @classmethod
    def opened(cls, path: Path) -> Recording:
        """Look at a file.

        Raises:
            StorageError: It cannot be opened.
            FormatError: It is no audio that can be read, or holds no sound.
        """
        with _file(path) as file:
            found = cls(path, file.samplerate, file.channels, file.frames)
        if not found.frames:
            raise FormatError("the recording is empty", place=str(path), hint=CAN_BE_READ)
        return found

    @property
    def length_s(self) -> float:
        """Seconds."""
        return self.frames / self.rate_hz

    def mono(self, start_s: float, end_s: float, rate_hz: int) -> Samples:
        """The mean of the channels between two moments, at another rate; shorter where the recording ends.

        Raises:
            StorageError: The file is gone.
            FormatError: It is damaged there.
        """
        resampler = soxr.ResampleStream(self.rate_hz, rate_hz, 1, dtype="float32")
        parts = [resampler.resample_chunk(block.mean(axis=1)) for block in self._blocks(start_s, end_s)]
        parts.append(resampler.resample_chunk(np.zeros(0, np.float32), last=True))
        return np.concatenate(parts)

    def stereo(self, start_s: float, end_s: float) -> Iterator[Samples]:
        """Blocks of (frames, 2) between two moments at its own rate: what is heard of the first two channels.

        Raises:
            StorageError: The file is gone.
            FormatError: It is damaged there.
        """
        blocks = self._blocks(start_s, end_s)
        both = (block[:, :2] if self.channels > 1 else np.repeat(block, 2, axis=1) for block in blocks)
        return both if self.mix == PLAIN else self.mix.of(both, self.rate_hz)

    def _blocks(self, start_s: float, end_s: float) -> Iterator[Samples]:
        left = round(end_s * self.rate_hz) - (start := round(start_s * self.rate_hz))
        with _file(self.path) as file:
            file.seek(min(max(start, 0), self.frames))
            while left > 0:
                block = file.read(min(left, round(BLOCK_S * self.rate_hz)), dtype="float32", always_2d=True)
                if not len(block):
                    return
                left -= len(block)
                yield np.nan_to_num(block, posinf=0.0, neginf=0.0)


def fingerprint(path: Path) -> str:
    """What tells whether a file is still the same: of its length, and of its beginning, middle and end.

    Raises:
        StorageError: It cannot be read.
    """
    mark = hashlib.sha256()
    with _descriptor(path) as descriptor:
        size = os.fstat(descriptor).st_size
        mark.update(str(size).encode())
        for start in (0, size // 2, size - PRINTED_BYTES):
            mark.update(os.pread(descriptor, PRINTED_BYTES, max(start, 0)))
    return mark.hexdigest()[:PRINTED_DIGITS]


@contextmanager
def _descriptor(path: Path) -> Iterator[int]:
    """The file opened to read; what hinders that in one line."""
    try:
        descriptor = opening.opened_to_read(path)
    except OSError as error:
        words = "no such file" if error.errno == errno.ENOENT else disk_words(error)
        raise StorageError(f"cannot be read: {words}", place=str(path), hint="check the name") from error
    try:
        yield descriptor
    finally:
        os.close(descriptor)


@contextmanager
def _file(path: Path) -> Iterator[SoundFile]:
    """The file as the audio library has it; its errors in one line."""
    import soundfile

    with _descriptor(path) as descriptor:
        try:
            with soundfile.SoundFile(descriptor, closefd=False) as file:
                yield file
        except (soundfile.SoundFileError, TypeError) as error:
            raise FormatError("not an audio file, or a damaged one", place=str(path), hint=CAN_BE_READ) from error
