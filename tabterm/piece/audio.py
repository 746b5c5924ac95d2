"""Audio files of a score: what is heard in them, what they say about themselves, and the writing of them."""

from __future__ import annotations

import time
from dataclasses import fields
from functools import partial
from io import BytesIO
from itertools import islice
from math import ceil
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, ScoreError
from tabterm.performance import perform
from tabterm.piece.practice import Practice
from tabterm.piece.takes import options_of
from tabterm.score.place import display_number
from tabterm.sound import files
from tabterm.sound.rendering import BLOCK, Rendering
from tabterm.sound.synthesiser import RATE
from tabterm.sound.voicing import voicing_of
from tabterm.storage.whole import replacing
from tabterm.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence, Sized
    from pathlib import Path

    from tabterm.performance import Part, Performance
    from tabterm.score.model import Score
    from tabterm.score.place import Span
    from tabterm.sound.voicing import SoundVoicing

Block = TypeVar("Block", bound="Sized")

ENDINGS = tuple(files.KINDS)
"""Endings of audio files."""

LONGEST_S = 86_400.0
"""No file lasts longer than a day."""

LONG_S, PROBE_S = 600.0, 10.0
"""From how much sound on the work is estimated, and by how much of it."""


@dataclass(frozen=True, slots=True)
class AudioFile:
    """An audio file to be written.

    Attributes:
        path: Where to; its ending names the kind.
        performance: What is heard.
        parts: Of whom.
        turns: How often.
        tags: What it says about itself.
        seamless: It can be played over and over: without count-in, and not a frame longer than its turns.
        whole: Of a stem, all parts that it adds up to with the others; it stands in them as loud as it is alone.
    """

    path: Path
    performance: Performance
    parts: frozenset[Part]
    turns: int
    tags: files.Tags
    seamless: bool = False
    whole: frozenset[Part] | None = None

    @property
    def kind(self) -> files.AudioKind:
        """By its ending."""
        return files.KINDS[self.path.suffix.lower()]

    @property
    def frames(self) -> int:
        """Its length."""
        return self.rendering(self.parts).frames

    @property
    def length_s(self) -> float:
        """The same in seconds."""
        return self.frames / RATE

    @property
    def voicing(self) -> SoundVoicing:
        """What it sounds like."""
        return voicing_of(self.performance.instrument, self.performance.tone)

    def rendering(self, parts: frozenset[Part]) -> Rendering:
        """Some parts of it."""
        return Rendering(self.performance, self.voicing, parts=parts, turns=self.turns, seamless=self.seamless)


def tags_of(score: Score, span: Span | None, percent: float, *, what: str = "", **more: str) -> files.Tags:
    """Tags of a take: the title with what is special about it, the first credit line, and the tempo."""
    index = span.start.measure if span else 0
    quarters = score.tempos[index].quarters_per_minute * percent / 100
    special = (measures_of(score, span), f"{percent:g}%" if percent != 100 else "", what)
    return files.Tags(
        title=", ".join(word for word in (score.head.title or "Untitled", *special) if word),
        artist=score.head.credits[0] if score.head.credits else "",
        comment=f"{quarters:.4g} quarters a minute, {percent:g}% of the written tempo",
        software=f"tabterm {__version__}",
        **more,
    )


def measures_of(score: Score, span: Span | None) -> str:
    """Which measures, in a word: `m5` or `m5-8`; "" for the whole."""
    if span is None:
        return ""
    first, last = (display_number(score, index) for index in (span.start.measure, span.end.measure - 1))
    return f"m{first}" if first == last else f"m{first}-{last}"


def write(takes: Sequence[AudioFile], watch: Callable[[int], None] = lambda _: None) -> None:
    """Write each take, wholly or not at all.

    `watch` is called between two blocks with the frames written since; what it raises leaves no half file.

    Raises:
        FormatError: A file of that kind cannot be so long; nothing is written.
        StorageError: The disk refused; the takes before are written.
        SoundError: No audio files can be written here.
    """
    for take in takes:
        _check_length(take)
    for take in takes:
        whole = take.rendering(take.whole or take.parts)
        level = whole.level(limited=take.whole is None, look=partial(watch, 0))
        samples = take.rendering(take.parts).blocks(level)
        with replacing(take.path) as file:
            files.write(file, take.kind, watched(samples, watch), take.tags)


def write_along(take: AudioFile, watch: Callable[[int], None] = lambda _: None) -> None:
    """Write a take with the recording that is heard along, as the editor plays it; wholly or not at all.

    Raises:
        FormatError: A file of that kind cannot be so long, or the recording is damaged.
        StorageError: The disk refused.
        SoundError: The recording cannot be read, or no audio files can be written here.
    """
    from tabterm.sound.plan import Plan
    from tabterm.sound.rendition import rendered

    _check_length(take)
    plan = Plan.of(take.performance, take.voicing, number=1, turns=take.turns)
    with replacing(take.path) as file:
        files.write(file, take.kind, watched(rendered(plan, take.frames), watch), take.tags)


def _check_length(take: AudioFile) -> None:
    longest_s = min(LONGEST_S, take.kind.longest_s)
    if take.length_s > longest_s:
        raise FormatError(
            f"{hours(take.length_s)} of sound is too long for one file",
            place=str(take.path),
            hint=f"{take.kind.name} holds up to {hours(longest_s)}: play it fewer times",
        )


class Estimate(NamedTuple):
    """About what some files will be: how long they sound, in bytes, and how long writing them takes."""

    sound_s: float
    size_bytes: float
    work_s: float

    def __str__(self) -> str:
        megabytes = self.size_bytes / 1e6
        size = f"{megabytes / 1000:.1f} GB" if megabytes >= 1000 else f"{megabytes:.{int(megabytes < 10)}f} MB"
        return f"{hours(self.sound_s)} of sound, about {size}; this takes about {hours(self.work_s)}"


def estimate(takes: Sequence[AudioFile]) -> Estimate | None:
    """What long work will come to, by the first PROBE_S of it written to memory; None of short work.

    Raises:
        FormatError: A file of that kind cannot be so long.
        SoundError: No audio files can be written here.
    """
    sound_s = sum(take.length_s for take in takes)
    if sound_s < LONG_S:
        return None
    for take in takes:
        _check_length(take)
    take, file, start_s = takes[0], BytesIO(), time.process_time()
    samples = take.rendering(take.parts).blocks()
    frames = files.write(file, take.kind, islice(samples, ceil(PROBE_S * RATE / BLOCK)), take.tags)
    work = (time.process_time() - start_s) * RATE / frames
    heard_s = sum(take.length_s * min(2 / take.turns, 1) for take in takes)  # for its level, once or more often
    return Estimate(sound_s, sound_s * file.tell() * RATE / frames, work * (sound_s + 2 * heard_s))


def hours(seconds: float) -> str:
    """A length of time in words: `40 s`, `12 min`, `2.3 h`."""
    if seconds >= 3600:
        return f"{seconds / 3600:.1f} h"
    return f"{seconds / 60:.0f} min" if seconds >= 100 else f"{seconds:.0f} s"


def render(
    path: Path, score: Score, *, span: Span | None = None, percent: int = 100, turns: int = 1, **played: Any
) -> None:
    """Write what is heard of a score to one file.

    Args:
        path: Where to; its ending names the kind.
        score: What is played.
        span: The stretch; None for the whole with its repeats.
        percent: Percent of the written tempo.
        turns: How often.
        played: How, by the words of `Practice`: `count_in`, `click`, `parts`, `style` ...

    Raises:
        FormatError: The ending names no audio file.
        ScoreError: There is nothing to hear, or no such way of playing.
        StorageError: The disk refused.
    """
    check_ending(path)
    practice = practice_of(played)
    performance = performance_of(score, span, practice, percent)
    heard = frozenset(pluck.part for pluck in performance.plucks)
    write([AudioFile(path, performance, heard, turns, tags_of(score, span, percent))])


def practice_of(played: Mapping[str, Any]) -> Practice:
    """A way of playing from its words; raises ScoreError for one that is unknown."""
    known = {each.name for each in fields(Practice)}
    for word in played.keys() - known:
        raise ScoreError(f"unknown way of playing '{word}'", hint=f"one of: {', '.join(sorted(known))}")
    return Practice(**played)


def performance_of(score: Score, span: Span | None, practice: Practice, percent: float) -> Performance:
    """What is heard of a score; raises ScoreError where that is nothing."""
    performance = perform(score, span=span, options=options_of(practice, percent, practice.count_in))
    if not any(pluck.start_s >= performance.lead_s for pluck in performance.plucks):
        raise ScoreError("nothing left to hear", hint="turn on the click, or the solo")
    return performance


def check_ending(path: Path) -> None:
    """Raise FormatError for a path whose ending names no audio file."""
    if path.suffix.lower() not in files.KINDS:
        hint = f"one of: {', '.join(ENDINGS)}"
        raise FormatError(f"unknown file extension '{path.suffix}'", place=str(path), hint=hint)


def watched(samples: Iterator[Block], watch: Callable[[int], None]) -> Iterator[Block]:
    """The same blocks; `watch` is called before the first, and after each with its frames."""
    watch(0)
    for block in samples:
        yield block
        watch(len(block))
