"""Audio files: a performance as samples, block by block, into WAV, FLAC, Ogg Vorbis or MP3, with tags."""

from __future__ import annotations

from dataclasses import asdict
from math import ceil, inf
from typing import TYPE_CHECKING, BinaryIO

from tabterm.dataclass import dataclass
from tabterm.errors import INSTALL, SoundError
from tabterm.sound.loudness import level_for, measured
from tabterm.sound.synthesiser import AHEAD, AS_IT_IS, RATE, Synthesiser

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    import numpy as np
    from numpy.typing import NDArray
    from soundfile import SoundFile

    from tabterm.performance.model import Part, Performance, Pluck
    from tabterm.sound.synthesiser import Level
    from tabterm.sound.voicing import SoundVoicing


BLOCK = 8192  #: frames; implementation limit
"""Frames rendered at a time."""

TAIL_S = 0.3  #: s; implementation limit
"""After the end every damped string is silent in this time; all parts of a performance have the same length."""


LONG_TURN_S = 30.0  #: s; tuned here
"""What sounds on into the next turn of such a length does not count for its loudness."""


def blocks(
    performance: Performance,
    voicing: SoundVoicing,
    *,
    rate: int = RATE,
    parts: Collection[Part] | None = None,
    turns: int = 1,
    seamless: bool = False,
    level: Level = AS_IT_IS,
) -> Iterator[NDArray[np.float32]]:
    """The samples of a performance, block by block as (frames, 2), until its end and TAIL_S more.

    Args:
        performance: What is played.
        voicing: What it sounds like.
        rate: Frames a second.
        parts: Who is heard; None is everybody.
        turns: How often it is played; every turn after the first begins behind the count-in.
        seamless: Without count-in and TAIL_S: what would die away behind the end is heard at the start instead,
            so that the whole can be played over and over.
        level: How loud it is.
    """
    last = frames_of(performance, rate=rate, turns=turns, seamless=seamless)
    turn_s = _turn_s(performance)
    before = ceil(TAIL_S / turn_s) if seamless else 0
    first = -ceil(before * turn_s * rate / BLOCK) * BLOCK
    synthesiser = Synthesiser(voicing, rate, first=first, period=last if seamless else 0, level=level)
    lead = round(performance.lead_s * rate) if seamless else 0
    # Of a period also what has sounded before, and what the limiter sees coming behind its end.
    origins = (
        last * (number // turns) + round(number % turns * turn_s * rate) - lead
        for number in range(-before, turns + seamless)
    )

    def until(frame: int) -> Iterator[NDArray[np.float32]]:
        while synthesiser.frame < frame:
            heard = synthesiser.frame >= 0
            block = synthesiser.read(min(BLOCK, last - synthesiser.frame))
            if heard:
                yield block

    for origin, pluck in _in_turn(performance, parts, origins, counted=not seamless):
        begin = origin + round(pluck.start_s * rate)
        if begin >= last + AHEAD:
            break
        yield from until(min(begin, last) - BLOCK + 1)
        synthesiser.play(pluck, origin)
    yield from until(last)


def level_of(
    performance: Performance,
    voicing: SoundVoicing,
    *,
    rate: int = RATE,
    parts: Collection[Part] | None = None,
    turns: int = 1,
    seamless: bool = False,
    limited: bool = True,
    look: Callable[[], object] = lambda: None,
) -> Level:
    """The level at which `blocks` of the same are as loud as any other file; `look` is called between two blocks.

    A short turn is heard to the end and, with its start behind it, once more; the others are like that one.
    """
    heard = min(turns, 1 if seamless or _turn_s(performance) > LONG_TURN_S else 2)
    first_s = 0.0 if seamless else performance.lead_s + (heard - 1) * _turn_s(performance)

    def measure(level: Level) -> tuple[float, float]:
        def looked_at() -> Iterator[NDArray[np.float32]]:
            samples = blocks(
                *(performance, voicing), rate=rate, parts=parts, turns=heard, seamless=seamless, level=level
            )
            for block in samples:
                look()
                yield block

        found = measured(looked_at(), rate)
        return found.lufs(again_from_s=first_s, times=turns - heard + 1), found.peak_db

    return level_for(measure, limited=limited)


def frames_of(performance: Performance, *, rate: int = RATE, turns: int = 1, seamless: bool = False) -> int:
    """How many frames `blocks` gives: those of the turns alone, or with count-in and TAIL_S."""
    around_s = 0.0 if seamless else performance.lead_s + TAIL_S
    return round((around_s + turns * _turn_s(performance)) * rate)


def _turn_s(performance: Performance) -> float:
    return performance.duration_s - performance.lead_s


def _in_turn(
    performance: Performance, parts: Collection[Part] | None, origins: Iterable[int], *, counted: bool
) -> Iterator[tuple[int, Pluck]]:
    """The plucks of all turns in order of time, each with the frame from which its times count.

    `origins` are these frames; `counted` says whether the first turn has its count-in.
    """
    for number, origin in enumerate(origins):
        for pluck in performance.plucks:
            in_turn = pluck.start_s >= performance.lead_s or (counted and not number)
            if in_turn and (parts is None or pluck.part in parts):
                yield origin, pluck


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
            f"no audio files can be written here: {error}", hint=f"{INSTALL}, or write a .mid file"
        ) from error
    if not soundfile.check_format(kind.container, kind.coding):
        version = soundfile.__libsndfile_version__
        known = [end for end, each in KINDS.items() if soundfile.check_format(each.container, each.coding)]
        raise SoundError(f"libsndfile {version} writes no {kind.name} files", hint=f"one of: {', '.join(known)}")
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
