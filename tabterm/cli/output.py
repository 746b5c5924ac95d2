"""What the commands print: the one way from a text to the terminal, and how far long work is."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sys
from typing import IO, TYPE_CHECKING, TextIO, cast

from tabterm import printable
from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    import argparse
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

    def write_marked(self, words: str) -> None:
        """Print words of our own that hold sequences for colours, and quote nobody."""
        super().write(words)


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


def note(words: str) -> None:
    """Say a line that one may do without; `--quiet` leaves it out."""
    if not MANNER.quiet:
        tell(words)


def complain(words: str) -> None:
    """Say why something could not be done."""
    if not MANNER.colour(sys.stderr):
        tell(f"tabterm: {words}")
        return
    with moving() as terminal:
        terminal.write(f"{SGR['bad']}tabterm:{PLAIN} {printable.line(words)}\n")


@dataclass
class Manner:
    """How the commands speak, as the options and the environment have it.

    Attributes:
        quiet: Notes and progress are left out.
        verbose: All that is remarked about a file is told.
        colours: `auto`, `always` or `never`.
        pages: What is printed goes through the pager.
    """

    quiet: bool = False
    verbose: bool = False
    colours: str = "auto"
    pages: bool = False

    def colour(self, stream: TextIO | None) -> bool:
        """Whether what is printed there is coloured: by the option, else NO_COLOR, FORCE_COLOR, or a terminal."""
        if self.colours != "auto":
            return self.colours == "always"
        if os.environ.get("NO_COLOR"):
            return False
        if os.environ.get("FORCE_COLOR"):
            return True
        is_terminal = stream is not None and (stream.isatty() or (self.pages and stream is sys.stdout))
        return is_terminal and os.environ.get("TERM", "") not in {"", "dumb"}


MANNER = Manner()
"""That of the command that runs."""

COLOURS = ("auto", "always", "never")
SGR = {"bad": "\x1b[1;31m", "doubtful": "\x1b[33m", "strong": "\x1b[1m"}
"""Select Graphic Rendition (ECMA-48, 5th edition, 8.3.117): bold red, yellow, bold."""

PLAIN = "\x1b[0m"


def add_manner(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that every command has."""
    group = parser.add_argument_group("options of every command")
    group.add_argument("-q", "--quiet", action="store_true", help="show no messages and no progress, only errors")
    group.add_argument("-v", "--verbose", action="store_true", help="show every message about a file")
    group.add_argument("--color", choices=COLOURS, default="auto", help="colours (auto: on a terminal)")


def take_manner(arguments: argparse.Namespace) -> None:
    """Speak as the arguments say from now on."""
    MANNER.quiet, MANNER.verbose = arguments.quiet and not arguments.verbose, arguments.verbose
    MANNER.colours, MANNER.pages = arguments.color, False


def say(line: str, word: str = "", style: str = "") -> None:
    """Print a line, with a word of it in a style where colours are asked for."""
    if not word or not MANNER.colour(sys.stdout):
        print(line)
        return
    clean = printable.line(line).replace(word, f"{SGR[style]}{word}{PLAIN}", 1)
    if isinstance(sys.stdout, Guarded):
        sys.stdout.write_marked(f"{clean}\n")
    else:
        print(clean)


@contextlib.contextmanager
def paged(*, wanted: bool) -> Iterator[None]:
    """Send what is printed meanwhile through PAGER, where that is set and standard output is a terminal.

    PAGER is a command for `sh -c` (POSIX, man); `less` is told to end at once where all fits, and to take colours.
    """
    pager = os.environ.get("PAGER", "")
    if not wanted or not pager or sys.stdout is None or not sys.stdout.isatty():
        yield
        return
    import subprocess

    environment = {"LESS": "FRX"} | os.environ
    process = subprocess.Popen(["sh", "-c", pager], stdin=subprocess.PIPE, env=environment)
    terminal, MANNER.pages = sys.stdout, True
    pipe = io.TextIOWrapper(cast("IO[bytes]", process.stdin), encoding=terminal.encoding or "utf-8")
    sys.stdout = Guarded(pipe)
    try:
        yield
    finally:
        for stream in (sys.stdout, pipe):
            with contextlib.suppress(BrokenPipeError):  # the reader has seen enough
                stream.close()
        sys.stdout, MANNER.pages = terminal, False
        process.wait()


def to_pipe(data: bytes, *, is_text: bool) -> None:
    """Write a file to standard output; a terminal is sent only what it can show.

    Raises:
        TabtermError: It is not text, and standard output is a terminal.
    """
    if is_text and sys.stdout.isatty():
        print(data.decode().replace("\r\n", "\n"), end="")
        return
    check_piped()
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()


def check_piped() -> None:
    """Raise TabtermError where standard output is a terminal, which cannot show what is not text."""
    if sys.stdout.isatty():
        raise TabtermError("a terminal cannot show this format", hint="pipe it, or name a file")


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
    if MANNER.quiet or not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn(what), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with moving() as terminal, Progress(*columns, console=Console(file=terminal), transient=True) as progress:
        task = progress.add_task("", total=frames)
        yield lambda more: progress.advance(task, more)
