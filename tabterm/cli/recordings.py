"""What the commands share that take a recording: which, which part of it, and whose it is."""

from __future__ import annotations

import argparse
from pathlib import Path

from tabterm import printable
from tabterm.errors import FormatError

LATEST_S = 1_000_000.0
"""Seconds that can be asked for."""

COPYRIGHT = (
    "A recording has its owners: keep what you take from it for your own use, unless you have the rights to more."
)


def add_recording(parser: argparse.ArgumentParser) -> None:
    """Add the argument that names a recording."""
    parser.add_argument("recording", type=Path, help="WAV, FLAC, Ogg Vorbis, MP3 or AIFF")


def add_out(parser: argparse.ArgumentParser, words: str) -> None:
    """Add the argument that names the file to write, last or after `-o` as in every command that writes."""
    parser.add_argument("out", type=Path, nargs="?", metavar="OUT", help=words)
    parser.add_argument(
        "-o", "--out", dest="named", type=Path, metavar="OUT", help="the file to write, named before or after"
    )
    parser.add_argument("--force", action="store_true", help="overwrite an existing file")


def out_of(arguments: argparse.Namespace) -> Path | None:
    """The file to write, None where none is named; raises FormatError where two are."""
    if arguments.out is not None and arguments.named is not None:
        raise FormatError("two files to write", place=str(arguments.out), hint="name it once")
    out: Path | None = arguments.out or arguments.named
    return out


def add_part(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose a part of it."""
    parser.add_argument(
        "--from", dest="start", metavar="S", type=seconds, default=0.0, help="where to start, in seconds"
    )
    parser.add_argument("--to", dest="end", metavar="S", type=seconds, help="where to end, in seconds")


def seconds(text: str) -> float:
    """A moment of a recording."""
    try:
        moment = float(text)
    except ValueError:
        moment = -1.0
    if not 0 <= moment <= LATEST_S:
        meant = "" if "," in text else " (write 12.5)"
        raise argparse.ArgumentTypeError(f"not a number of seconds: {printable.number(text)}{meant}")
    return moment
