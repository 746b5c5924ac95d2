"""A recording, or a part of it, written slower or faster at its pitch, or tuned to the instrument."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tabterm.errors import FormatError, ScoreError
from tabterm.piece.audio import check_ending, watched
from tabterm.sound import files
from tabterm.storage.whole import replacing
from tabterm.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tabterm.recording.audio import Recording

SLOWEST, FASTEST = 25, 200
"""Percent of the recording's speed."""

MOST_SEMITONES, MOST_CENTS = 12, 100
"""Up or down."""


@dataclass(frozen=True, slots=True)
class Slowed:
    """A part of a recording, and how it is to be heard.

    Attributes:
        recording: What is heard.
        start_s: Where the part begins.
        end_s: Where it ends.
        percent: Of its speed.
        semitones: How much higher, or (negative) lower.
    """

    recording: Recording
    start_s: float
    end_s: float
    percent: int
    semitones: float

    @property
    def frames(self) -> int:
        """How many there will be."""
        return round((self.end_s - self.start_s) * self.recording.rate_hz * 100 / self.percent)


def slowed(
    path: Path,
    *,
    start_s: float = 0.0,
    end_s: float | None = None,
    percent: int = 100,
    semitones: int = 0,
    cents: int = 0,
) -> Slowed:
    """Choose a part of a recording.

    Raises:
        FormatError: It is no recording, or has no such part.
        ScoreError: No such speed or pitch.
        StorageError: It cannot be opened.
    """
    from tabterm.recording.audio import Recording

    if not SLOWEST <= percent <= FASTEST:
        raise ScoreError(f"cannot play at {percent}% of the speed", hint=f"{SLOWEST} to {FASTEST}")
    if abs(semitones) > MOST_SEMITONES or abs(cents) > MOST_CENTS:
        hint = f"-{MOST_SEMITONES} to {MOST_SEMITONES} semitones, -{MOST_CENTS} to {MOST_CENTS} cents"
        raise ScoreError(f"cannot move the pitch by {semitones} semitones and {cents} cents", hint=hint)
    recording = Recording.opened(path)
    end_s = recording.length_s if end_s is None else min(end_s, recording.length_s)
    if not 0 <= start_s < end_s:
        hint = f"the recording is {recording.length_s:.1f} s long"
        raise FormatError(f"no such part: {start_s:g} to {end_s:g} s", place=str(path), hint=hint)
    return Slowed(recording, start_s, end_s, percent, semitones + cents / 100)


def write(take: Slowed, path: Path, watch: Callable[[int], None] = lambda _: None) -> None:
    """Write it, wholly or not at all; `watch` is told the frames written since it was last called.

    Raises:
        FormatError: The ending names no audio file, or the recording is damaged.
        StorageError: The disk refused.
        SoundError: No audio files can be written here.
    """
    from tabterm.recording.slow import slowed as sound

    check_ending(path)
    blocks = sound(take.recording, take.start_s, take.end_s, take.percent / 100, semitones=take.semitones)

    tags = files.Tags(
        title=f"{take.recording.path.stem}, {take.percent}%",
        comment=f"{take.start_s:g} to {take.end_s:g} s at {take.percent}% of the speed",
        software=f"tabterm {__version__}",
    )
    with replacing(path) as file:
        files.write(
            file, files.KINDS[path.suffix.lower()], watched(blocks, watch), tags, rate=take.recording.rate_hz
        )
