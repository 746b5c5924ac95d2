"""What the commands print: the one way from a text to the terminal."""

from __future__ import annotations

import io
import sys
from typing import TextIO

from tabterm import printable


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


def moving() -> TextIO:
    """Standard error for what moves the cursor itself and quotes nobody: a bar that grows."""
    return open(sys.stderr.fileno(), "w", encoding=sys.stderr.encoding, errors="replace", closefd=False)
