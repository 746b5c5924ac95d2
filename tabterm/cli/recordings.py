"""What the commands share that take a recording: which, which part of it, and whose it is."""

from __future__ import annotations

import argparse
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import STDIN, check_one_answer, piped
from tabterm.cli.output import check_piped, to_pipe
from tabterm.errors import FormatError, TabtermError
from tabterm.storage.temporaries import spooled

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

LATEST_S = 1_000_000.0
"""Seconds that can be asked for."""

MOST_PIPED_BYTES = 1_000_000_000
"""Of a recording from standard input: an hour and a half of stereo as on a CD, uncompressed."""

COPYRIGHT = "Recordings have owners: what you make from one is for your own use, unless you have the rights."


def add_recording(parser: argparse.ArgumentParser) -> None:
    """Add the argument that names a recording."""
    parser.add_argument("recording", type=Path, help="WAV, FLAC, Ogg Vorbis, MP3 or AIFF; - for standard input")


@contextmanager
def recording_in(arguments: argparse.Namespace) -> Iterator[Path]:
    """The file of the recording; standard input as a file that is gone after the block, named `-` in errors.

    Raises:
        FormatError: Standard input is a terminal.
        StorageError: It holds too much, or the disk refused.
    """
    if arguments.recording != STDIN:
        yield arguments.recording
        return
    with spooled(piped("tabterm slow - slow.wav < take.wav"), "recording", MOST_PIPED_BYTES) as path:
        try:
            yield path
        except TabtermError as error:
            place = str(STDIN) if error.place == str(path) else error.place
            raise type(error)(error.message, hint=error.hint, place=place) from error


def add_out(parser: argparse.ArgumentParser, words: str, kind: Callable[[str], str]) -> None:
    """Add the arguments that name the file to write, last or after `-o` as in every command that writes.

    Args:
        parser: Of the command.
        words: What is said of the file.
        kind: Reads the word for the kind of file that standard output gets.
    """
    parser.add_argument("out", type=Path, nargs="?", metavar="OUT", help=words)
    parser.add_argument(
        "-o",
        "--out",
        dest="named",
        type=Path,
        metavar="OUT",
        help="the file to write, named before or after the recording",
    )
    told = "format for standard output, which OUT names as -"
    parser.add_argument("--to-format", metavar="FORMAT", type=kind, help=told)
    parser.add_argument("--force", action="store_true", help="overwrite an existing file")


def out_of(arguments: argparse.Namespace) -> Path | None:
    """The file to write, None where none is named; raises TabtermError where two are."""
    if arguments.out is not None and arguments.named is not None:
        raise FormatError("two output files named", place=str(arguments.out), hint="name one")
    out: Path | None = arguments.out or arguments.named
    check_one_answer(out, as_data=arguments.json)
    return out


def audio_kind(text: str) -> str:
    """The ending of a kind of audio file, by its word."""
    from tabterm.piece.audio import ENDINGS

    return one_ending(text, ENDINGS)


def one_ending(text: str, known: Iterable[str]) -> str:
    """The ending that a word names, of those known."""
    ending = f".{text.lstrip('.').lower()}"
    if ending not in known:
        kinds = ", ".join(each[1:] for each in known)
        raise argparse.ArgumentTypeError(f"not a sound format: '{text}' (one of: {kinds})")
    return ending


@contextmanager
def audio_out(out: Path, ending: str | None) -> Iterator[Path]:
    """The file to write; for standard output one that is sent there when the block ends well, and is gone then.

    Raises:
        FormatError: Standard output is a terminal, or no kind of file is named for it.
    """
    if out != STDIN:
        yield out
        return
    if ending is None:
        raise FormatError("no format for standard output", hint="--to-format names one, such as wav")
    check_piped()
    with TemporaryDirectory(prefix="tabterm-") as folder:
        path = Path(folder) / f"out{ending}"
        yield path
        to_pipe(path.read_bytes(), is_text=False)


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
