"""What the commands read: files, folders and standard input, one after the other, and their answers together.

With several files, or a folder, each text has a heading where its lines do not name the file, and `--json` prints
a list of objects with `file` and `answer`, or `error` where one could not be read. The exit status is the highest.
"""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tabterm import printable
from tabterm.cli.output import complain
from tabterm.errors import FormatError, StorageError, TabtermError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from typing import BinaryIO

STDIN = Path("-")
"""Stands for standard input where a file is read, and for standard output where one is written."""

BAD_INPUT = 2

FILES = "scores in any readable format; a folder means all its scores, - standard input"
FILE = "a score in any readable format; - means standard input"

BEGINNINGS = {
    b"MThd": ".mid",
    b"PK\x03\x04": ".mxl",
    b"{": ".tabterm",
    b"<": ".musicxml",
    b"X:": ".abc",
    b"%abc": ".abc",
}
"""What each format begins with; anything else is a text tab. By the formats' own definitions."""

BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class Answer(NamedTuple):
    """What a command found out about a file.

    Attributes:
        status: Exit status: 0, or 1 where something was found that asks for it.
        data: The same as plain data, for `--json`.
        written: The data as JSON, where that has lines of its own; "" for the usual form.
    """

    status: int = 0
    data: object = None
    written: str = ""


def add_files(parser: argparse.ArgumentParser) -> None:
    """Add the argument for any number of files, and what they are."""
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE", help=FILES)
    add_kind(parser)


def add_file(parser: argparse.ArgumentParser) -> None:
    """Add the argument for one file, and what it is."""
    parser.add_argument("file", type=Path, metavar="FILE", help=FILE)
    add_kind(parser)


def add_kind(parser: argparse.ArgumentParser) -> None:
    """Add the argument that says what a file is whose ending does not."""
    parser.add_argument(
        "--from-format", metavar="FORMAT", type=ending, help="format to read, such as abc (by the file extension)"
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add the argument that asks for data instead of lines."""
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def ending(text: str) -> str:
    """The ending of a format; the program is quick to start, so the formats are looked at only here."""
    from tabterm import formats

    found = f".{text.lstrip('.').lower()}"
    if found not in formats.FORMATS:
        known = ", ".join(each[1:] for each in formats.FORMATS)
        raise argparse.ArgumentTypeError(f"not a format: '{text}' (one of: {known})")
    return found


def each(
    arguments: argparse.Namespace, one: Callable[[argparse.Namespace], Answer], *, headed: bool = True
) -> int:
    """Have a command answer about every file; one that cannot be read is told of, and the others go on.

    Args:
        arguments: Of the command; each file gets them with its own name as `file`.
        one: Answers about one file: prints it, or with `--json` gives it as data.
        headed: The lines that it prints do not name the file.
    """
    files, many = _expanded(arguments.files)
    out, asks_data = getattr(arguments, "out", None), getattr(arguments, "json", False)
    if many and out is not None:
        raise StorageError("several files cannot go into one", place=str(out), hint="name one file")
    check_one_answer(out, as_data=asks_data)
    status = 0
    found: list[dict[str, object]] = []
    for number, file in enumerate(files):
        if many and headed and not asks_data:
            print(("\n" if number else "") + f"== {file} ==", flush=True)
        try:
            answer = one(argparse.Namespace(**{**vars(arguments), "file": file}))
        except TabtermError as error:
            if not many:
                raise
            complain(str(error))
            found.append({"file": str(file), "error": str(error)})
            status = BAD_INPUT
            continue
        status = max(status, answer.status)
        found.append({"file": str(file), "answer": answer.data})
        if asks_data and not many:
            print(answer.written or printable.as_json(answer.data, indent=2))
    if asks_data and many:
        print(printable.as_json(found, indent=2))
    return status


def _expanded(files: list[Path]) -> tuple[list[Path], bool]:
    """The files, those in folders in the order of their names; and whether there are several, or a folder.

    Raises:
        StorageError: A folder has no scores, or standard input is named twice.
    """
    found: list[Path] = []
    for file in files:
        found += _scores_in(file) if file.is_dir() else [file]
    if found.count(STDIN) > 1:
        raise StorageError("standard input can only be read once", hint="name - once")
    return found, len(files) > 1 or any(file.is_dir() for file in files)


def _scores_in(folder: Path) -> Iterator[Path]:
    from tabterm import formats

    inside = sorted(folder.iterdir())
    scores = [each for each in inside if each.suffix.lower() in formats.FORMATS and each.name[0] != "."]
    if not scores:
        raise StorageError("no scores in this folder", place=str(folder), hint="name files, or another folder")
    yield from (each for each in scores if each.is_file())


def check_one_answer(out: Path | None, *, as_data: bool) -> None:
    """Raise StorageError where standard output would take a file and the answer of `--json` together."""
    if out == STDIN and as_data:
        raise StorageError(
            "--json and a file cannot both go to standard output", hint="leave out --json, or name a file after -o"
        )


def split_out(arguments: argparse.Namespace) -> Path:
    """What is written: what `-o` names or, without it, the last of the files, which is taken out of them.

    Raises:
        FormatError: Nothing is named, or a folder and no format.
        StorageError: Several files are to go into one, or a file and its report to standard output.
    """
    out: Path | None = arguments.out
    if out is None:
        if len(arguments.files) == 1:
            raise FormatError("no file to write", place=str(arguments.files[0]), hint="name it last, or after -o")
        out = Path(arguments.files.pop())
    check_one_answer(out, as_data=arguments.json)
    if out.is_dir() and arguments.to_format is None:
        raise FormatError("no format for files in a folder", place=str(out), hint="name one with --to-format")
    if not out.is_dir() and (len(arguments.files) > 1 or arguments.files[0].is_dir()):
        raise StorageError(
            "several files need a folder to go into", place=str(out), hint=f"mkdir {shlex.quote(str(out))}"
        )
    arguments.out = None
    return out


def file_in(out: Path, arguments: argparse.Namespace) -> Path:
    """The file to be written for one that is read: `out` or, where that is a folder, one in it."""
    if not out.is_dir():
        return out
    return out / f"{'stdin' if arguments.file == STDIN else arguments.file.stem}{arguments.to_format}"


class Source(NamedTuple):
    """A file: its name, its kind where its ending does not say it, and what it holds where that has been read."""

    path: Path
    ending: str = ""
    data: bytes | None = None


def source_of(path: Path, arguments: argparse.Namespace | None) -> Source:
    """The file of a name: standard input for `-`, which is read whole here.

    Raises:
        FormatError: There is no standard input, or too much of it.
    """
    ending: str = getattr(arguments, "from_format", None) or ""
    if path != STDIN:
        return Source(path, ending)
    from tabterm.formats import MAX_BYTES

    data = piped("tabterm show - < tune.abc").read(MAX_BYTES + 1)
    if len(data) > MAX_BYTES:
        raise FormatError("the file is too large", place=str(path), hint=f"at most {MAX_BYTES} bytes")
    return Source(path, ending or told_by(data), data)


def piped(example: str) -> BinaryIO:
    """Standard input, which is not a terminal; raises FormatError where it is."""
    if sys.stdin is None or sys.stdin.isatty():
        raise FormatError("standard input is a terminal", hint=f"pipe a file into it: {example}")
    return sys.stdin.buffer


def told_by(data: bytes) -> str:
    """The ending of the format that bytes are in, by how they begin."""
    start = data.removeprefix(BYTE_ORDER_MARK).lstrip()
    if start.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ".musicxml"  # UTF-16, as only XML may be
    return next((ending for beginning, ending in BEGINNINGS.items() if start.startswith(beginning)), ".txt")
