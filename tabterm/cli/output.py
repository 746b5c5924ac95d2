"""What the commands print: the one way from a text to the terminal, and how far long work is."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sys
from typing import TYPE_CHECKING, TextIO

from tabterm import printable
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import FrameType


class Guarded(io.TextIOWrapper):
    """A stream on which nothing is printed that a terminal would obey, and `?` for what its encoding lacks."""

    def __init__(self, stream: io.TextIOWrapper) -> None:
        """Take the place of a stream of the process, which goes on to own the descriptor."""
        stream.flush()
        super().__init__(
            io.BufferedWriter(io.FileIO(stream.fileno(), "w", closefd=False)),
            encoding=stream.encoding,
            errors="replace",
            line_buffering=stream.line_buffering,
            write_through=stream.write_through,
        )

    def write(self, words: str) -> int:
        """Print words; the number of characters."""
        super().write(printable.text(words))
        return len(words)


def guard() -> None:
    """Guard standard error, which is for a person, and standard output where that is a terminal.

    What goes into a file or another program stays as it is: a text tab in a file is the one that was asked for.
    """
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")
        if sys.stdout.isatty():
            sys.stdout = Guarded(sys.stdout)
    if isinstance(sys.stderr, io.TextIOWrapper):
        sys.stderr = Guarded(sys.stderr)


def tell(words: str) -> None:
    """Say a line to the person who gave the command, beside what is printed."""
    print(printable.line(words), file=sys.stderr)


def check_clipboard() -> None:
    """Raise TabtermError where standard output is no terminal: nobody else is sent what goes into a clipboard."""
    if sys.stdout is None or not sys.stdout.isatty():
        raise TabtermError("--copy needs a terminal for its output", hint="leave out the pipe or --copy")


def to_clipboard(text: str) -> None:
    """Put a text into the clipboard of the terminal that standard output is.

    Raises:
        TabtermError: It is no terminal, or one without a clipboard, or the text is too long.
    """
    from tabterm.tui.terminal.clipboard import sequence

    check_clipboard()
    data = sequence(text, os.environ).encode()
    sys.stdout.flush()
    while data:
        data = data[os.write(sys.stdout.fileno(), data) :]


def moving() -> TextIO:
    """Standard error for what moves the cursor itself and quotes nobody: a bar that grows."""
    return open(sys.stderr.fileno(), "w", encoding=sys.stderr.encoding, errors="replace", closefd=False)


SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@contextlib.contextmanager
def watched(frames: int, what: str = "rendering") -> Iterator[Callable[[int], None]]:
    """Gives what to call with the steps done, as frames of sound are: it moves a bar on a terminal.

    Once a signal has come, it raises.

    Raises:
        KeyboardInterrupt, SystemExit: A signal came.
    """
    with _heeding_signals() as look, _shown(frames, what) as advance:

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
def _shown(frames: int, what: str) -> Iterator[Callable[[int], None]]:
    """A bar on a terminal's standard error, gone at the end; nothing anywhere else."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn(what), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with moving() as terminal, Progress(*columns, console=Console(file=terminal), transient=True) as progress:
        task = progress.add_task("", total=frames)
        yield lambda more: progress.advance(task, more)
