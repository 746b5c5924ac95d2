"""Long work on the command line: how far it is, and a signal to end it that leaves nothing half done."""

from __future__ import annotations

import contextlib
import signal
import sys
from typing import TYPE_CHECKING

from tabterm.cli.output import moving

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import FrameType

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@contextlib.contextmanager
def watched(frames: int) -> Iterator[Callable[[int], None]]:
    """Gives what to call with the frames done: it moves a bar on a terminal, and raises once a signal has come.

    Raises:
        KeyboardInterrupt, SystemExit: A signal came.
    """
    with _heeding_signals() as look, _shown(frames) as advance:

        def watch(more: int) -> None:
            look()
            advance(more)

        yield watch


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
