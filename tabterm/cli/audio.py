"""Audio files on the command line: what is written, how far it is, and that it is written wholly or not at all."""

from __future__ import annotations

import contextlib
import signal
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from tabterm import __version__
from tabterm.cli.output import moving
from tabterm.score.place import display_number
from tabterm.sound import files
from tabterm.sound.rendering import blocks, frames_of
from tabterm.sound.timbre import voicing_of
from tabterm.storage.whole import replacing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence, Sized
    from pathlib import Path
    from types import FrameType

    from tabterm.instrument import Instrument
    from tabterm.performance import Part, Performance
    from tabterm.score.model import Score
    from tabterm.score.place import Span

Block = TypeVar("Block", bound="Sized")

ENDINGS = tuple(files.KINDS)
"""Endings of audio files."""

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@dataclass(frozen=True, slots=True)
class Take:
    """An audio file to be written.

    Attributes:
        path: Where to; its ending names the kind.
        performance: What is heard.
        parts: Of whom.
        turns: How often.
        tags: What it says about itself.
    """

    path: Path
    performance: Performance
    parts: frozenset[Part]
    turns: int
    tags: files.Tags

    @property
    def frames(self) -> int:
        """Its length."""
        return frames_of(self.performance, turns=self.turns)


def tags_of(score: Score, span: Span | None, percent: int, *, what: str = "", **more: str) -> files.Tags:
    """Tags of a take: the title with what is special about it, the first credit line, and the tempo."""
    index = span.start.measure if span else 0
    quarters = score.tempos[index].quarters_per_minute * percent / 100
    special = (measures_of(score, span), f"{percent} %" if percent != 100 else "", what)
    return files.Tags(
        title=", ".join(word for word in (score.head.title or "Untitled", *special) if word),
        artist=score.head.credits[0] if score.head.credits else "",
        comment=f"{quarters:.4g} quarters a minute, {percent} % of the written tempo",
        software=f"tabterm {__version__}",
        **more,
    )


def measures_of(score: Score, span: Span | None) -> str:
    """Which measures, in a word: `m5` or `m5-8`; "" for the whole."""
    if span is None:
        return ""
    first, last = (display_number(score, index) for index in (span.start.measure, span.end.measure - 1))
    return f"m{first}" if first == last else f"m{first}-{last}"


def write(takes: Sequence[Take], instrument: Instrument) -> None:
    """Write each take, showing how far it is where somebody looks on.

    A signal to end is obeyed between two blocks, so that no half file stays behind.

    Raises:
        StorageError: The disk refused; the takes before are written.
        SoundError: No audio files can be written here.
        KeyboardInterrupt, SystemExit: A signal came.
    """
    voicing = voicing_of(instrument)
    with _heeding_signals() as look, _shown(sum(take.frames for take in takes)) as advance:
        for take in takes:
            samples = blocks(take.performance, voicing, parts=take.parts, turns=take.turns)
            with replacing(take.path) as file:
                kind = files.KINDS[take.path.suffix.lower()]
                files.write(file, kind, _watched(samples, look, advance), take.tags)


def _watched(
    samples: Iterator[Block], look: Callable[[], None], advance: Callable[[int], None]
) -> Iterator[Block]:
    for block in samples:
        look()
        yield block
        advance(len(block))
    look()


@contextlib.contextmanager
def _heeding_signals() -> Iterator[Callable[[], None]]:
    """Gives what to call now and then: it raises once a signal to end has come.

    An exception raised by the handler itself would be lost in a callback of the library that writes.
    """
    came: list[int] = []

    def note(number: int, _frame: FrameType | None) -> None:
        came.append(number)

    def look() -> None:
        if came:
            raise KeyboardInterrupt if came[0] == signal.SIGINT else SystemExit(128 + came[0])

    before = {number: signal.signal(number, note) for number in SIGNALS}
    try:
        yield look
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextlib.contextmanager
def _shown(frames: int) -> Iterator[Callable[[int], None]]:
    """A bar on a terminal's standard error, gone at the end; nothing anywhere else."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn("rendering"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with moving() as terminal, Progress(*columns, console=Console(file=terminal), transient=True) as progress:
        task = progress.add_task("", total=frames)
        yield lambda more: progress.advance(task, more)
