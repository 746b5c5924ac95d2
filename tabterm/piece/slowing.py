"""A recording, or a part of it, written slower or faster at its pitch, or tuned to the instrument."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, ScoreError, StorageError
from tabterm.piece import recorded
from tabterm.piece.audio import check_ending, watched
from tabterm.piece.takes import Tied
from tabterm.score.place import Span
from tabterm.score.record_mix import AS_IT_IS, RecordMix
from tabterm.sound import files
from tabterm.storage.whole import replacing
from tabterm.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.recording.audio import Recording
    from tabterm.score.model import Score

SLOWEST, FASTEST = 25, 200
"""Percent of the recording's speed."""

MOST_SEMITONES, MOST_CENTS = 12, 100
"""Up or down."""

TUNED_BY_S = 120.0
"""Of a part by which its tuning is estimated; tuned here."""


@dataclass(frozen=True, slots=True)
class Slowed:
    """A part of a recording, and how it is to be heard.

    Attributes:
        recording: What is heard.
        start_s: Where the part begins.
        end_s: Where it ends.
        percent: Of its speed.
        semitones: How much higher, or (negative) lower.
        off_cents: How far above A4 = 440 Hz it is tuned, where that was asked for.
    """

    recording: Recording
    start_s: float
    end_s: float
    percent: int
    semitones: float
    off_cents: float = 0.0

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
    in_tune: bool = False,
    mix: RecordMix = AS_IT_IS,
) -> Slowed:
    """Choose a part of a recording.

    Args:
        path: The recording.
        start_s: Where the part begins.
        end_s: Where it ends; None for the end of the recording.
        percent: Of its speed.
        semitones: Higher, or (negative) lower.
        cents: Besides.
        in_tune: Moved to A4 = 440 Hz as well, by how it seems to be tuned.
        mix: Which side is heard, how balanced, and which register is brought forward.

    Raises:
        FormatError: It is no recording, or has no such part.
        ScoreError: No such speed or pitch.
        StorageError: It cannot be opened.
    """
    from tabterm.recording.audio import Recording
    from tabterm.recording.mix import Mix

    if not SLOWEST <= percent <= FASTEST:
        raise ScoreError(f"cannot play at {percent}% of the speed", hint=f"{SLOWEST} to {FASTEST}")
    if abs(semitones) > MOST_SEMITONES or abs(cents) > MOST_CENTS:
        hint = f"-{MOST_SEMITONES} to {MOST_SEMITONES} semitones, -{MOST_CENTS} to {MOST_CENTS} cents"
        raise ScoreError(f"cannot move the pitch by {semitones} semitones and {cents} cents", hint=hint)
    recording = replace(Recording.opened(path), mix=Mix.chosen(mix))
    asked_s = recording.length_s if end_s is None else end_s
    end_s = min(asked_s, recording.length_s)
    if not 0 <= start_s < end_s:
        hint = f"the recording is {recording.length_s:.1f} s long"
        raise FormatError(f"no such part: {start_s:g} to {asked_s:.4g} s", place=str(path), hint=hint)
    off = _cents_off(recording, start_s, end_s) if in_tune else 0.0
    return Slowed(recording, start_s, end_s, percent, semitones + (cents - off) / 100, off)


def of_measures(document: Path, score: Score, span: Span | None, percent: float) -> tuple[Slowed, str]:
    """The recording of a document where a stretch of its score lies, in tune, and what is to be said of the file.

    Args:
        document: The file of the score.
        score: The score.
        span: The stretch; None for all of it.
        percent: Of the recording's speed.

    Raises:
        ScoreError: No recording is tied to the measures, or no such speed.
        FormatError: It is damaged, or ends before them.
        StorageError: It is not there.
    """
    tied, remark = tied_to(document)
    whole = Span.of_measures(0, len(score.measures) - 1)
    start_s, end_s = tied.time_map.on(score).seconds(span or whole)
    take = slowed(Path(tied.path), start_s=max(start_s, 0.0), end_s=end_s, percent=round(percent))
    return replace(take, semitones=-tied.tuning_cents / 100), remark


def tied_to(document: Path) -> tuple[Tied, str]:
    """The recording that is tied to the measures of a document, and what is to be said of its file.

    Raises:
        ScoreError: None is.
        StorageError: It is not there.
    """
    kept = recorded.read(document)
    if kept is None or kept.time_map is None:
        raise ScoreError(
            f"{document.name} has no recording", hint="open one in the editor (f12), and tie its beats"
        )
    path, remark = kept.found(document)
    if path is None:
        raise StorageError(remark)
    return Tied(str(path), kept.fingerprint, kept.time_map, kept.tuning_cents or 0.0), remark


def _cents_off(recording: Recording, start_s: float, end_s: float) -> float:
    from tabterm.recording.spectra import RATE_HZ
    from tabterm.recording.tuning import cents_off

    return cents_off(recording.mono(start_s, min(end_s, start_s + TUNED_BY_S), RATE_HZ)) or 0.0


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
