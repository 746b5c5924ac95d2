"""Audio files: samples, block by block, into WAV, FLAC, Ogg Vorbis or MP3, with tags."""

from __future__ import annotations

from dataclasses import asdict
from math import inf
from typing import TYPE_CHECKING, BinaryIO

from tabterm.dataclass import dataclass
from tabterm.errors import INSTALL, SoundError
from tabterm.sound.synthesiser import RATE

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np
    from numpy.typing import NDArray
    from soundfile import SoundFile


@dataclass(frozen=True, slots=True)
class AudioKind:
    """A kind of audio file.

    Attributes:
        name: What it is called.
        container: Its name in the library.
        coding: How samples are coded, as the library names it.
        compression: 0 (largest) to 1 (smallest); None where nothing is lost or left out.
        bitrate: How a lossy coder spends its bits, as the library names it.
        most_bytes: What its own sizes can count; None where that is no limit.
        channels: 2, or 1 for both in one.
    """

    name: str
    container: str
    coding: str
    compression: float | None = None
    bitrate: str | None = None
    most_bytes: int | None = None
    channels: int = 2  #: channels; definition: stereo

    @property
    def longest_s(self) -> float:
        """What goes into one file of two channels, 16 bits each."""
        return inf if self.most_bytes is None else self.most_bytes / (RATE * 2 * 2)


#: part of the scale of compression; tuned here: about 100 kbit/s of a solo
KINDS: dict[str, AudioKind] = {
    ".wav": AudioKind("WAV", "WAV", "PCM_16", most_bytes=2**32 - 2**12),
    ".flac": AudioKind("FLAC", "FLAC", "PCM_16"),
    ".ogg": AudioKind("Ogg Vorbis", "OGG", "VORBIS", 0.4),
    ".mp3": AudioKind("MP3", "MP3", "MPEG_LAYER_III", 0.3, "VARIABLE"),
}
"""By ending. The degrees of compression give about 100 kbit/s of a solo; a WAV counts its bytes in 32 bits."""

#: part of the scale of compression; tuned here: about 40 kbit/s of a solo at SMALL_RATE
SMALL = AudioKind("MP3", "MP3", "MPEG_LAYER_III", 0.6, "VARIABLE", channels=1)
SMALL_RATE = 32_000  #: Hz; tuned here
"""What is carried inside a page: every browser decodes it, and a phone's loudspeaker gives no more."""


@dataclass(frozen=True, slots=True)
class Tags:
    """What a file says about itself; what is empty is left out, and what a kind has no place for as well."""

    title: str = ""
    artist: str = ""
    album: str = ""
    comment: str = ""
    tracknumber: str = ""
    software: str = "tabterm"


def write(
    file: BinaryIO, kind: AudioKind, samples: Iterable[NDArray[np.float32]], tags: Tags, *, rate: int = RATE
) -> int:
    """Write blocks (frames, 2) into an open, empty file that can be sought, and say how many frames that were.

    Raises:
        SoundError: The library that codes the samples is not there, or is too old for this kind.
        OSError: The disk refused.
    """
    try:
        import soundfile
    except (ImportError, OSError) as error:
        raise SoundError(
            f"cannot write audio files here: {error}", hint=f"{INSTALL}, or write a .mid file"
        ) from error
    if not soundfile.check_format(kind.container, kind.coding):
        version = soundfile.__libsndfile_version__
        known = [end for end, each in KINDS.items() if soundfile.check_format(each.container, each.coding)]
        raise SoundError(
            f"libsndfile {version} cannot write {kind.name} files", hint=f"one of: {', '.join(known)}"
        )
    sink, frames = _Sink(file), 0
    try:
        with soundfile.SoundFile(
            sink,
            "w",
            rate,
            kind.channels,
            kind.coding,
            format=kind.container,
            compression_level=kind.compression,
            bitrate_mode=kind.bitrate,
        ) as coder:
            _tag(coder, tags)
            for block in samples:
                coder.write(block if kind.channels == 2 else block.mean(axis=1))
                sink.check()
                frames += len(block)
    except (AssertionError, soundfile.SoundFileError):
        sink.check()
        raise
    sink.check()
    return frames


def _tag(coder: SoundFile, tags: Tags) -> None:
    for name, words in asdict(tags).items():
        if words:
            setattr(coder, name, " ".join(words.split()))


class _Sink:
    """A file as the library calls it back; what the disk refuses is kept, since no error goes through there."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._error: OSError | None = None

    def write(self, data: bytes) -> int:
        """Write all of it, or nothing after a refusal."""
        if self._error is None:
            try:
                return self._file.write(data)
            except OSError as error:
                self._error = error
        return 0

    def read(self, size: int = -1) -> bytes:
        """What stands there."""
        return self._file.read(size)

    def seek(self, offset: int, whence: int = 0) -> int:
        """Go to a place."""
        return self._file.seek(offset, whence)

    def tell(self) -> int:
        """Where it is."""
        return self._file.tell()

    def check(self) -> None:
        """Raise what the disk has refused meanwhile."""
        if self._error is not None:
            raise self._error
