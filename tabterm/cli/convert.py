"""`tabterm convert`: write a file in another format."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.errors import StorageError
from tabterm.hand.strokes import with_proposals

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    endings = ", ".join(ending for ending, kind in formats.FORMATS.items() if kind.writes)
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("out", type=Path, help=f"the file to write; its ending names the format: {endings}")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def run(arguments: argparse.Namespace) -> int:
    """Read, write, and tell what could not be carried over."""
    kind = formats.format_of(arguments.out)
    if arguments.out.exists() and not arguments.force:
        raise StorageError("the file is there already", place=str(arguments.out), hint="--force writes over it")
    reading = formats.read(arguments.file)
    print_remarks(str(arguments.file), reading)
    formats.write(arguments.out, with_proposals(reading.score))
    print(f"{arguments.out}: {kind.name} written")
    return 0


def print_remarks(name: str, reading: formats.Reading) -> None:
    """Remarks of a reader, a line each, to standard error."""
    for remark in reading.remarks:
        place = f":{remark.line}:{remark.column}" if remark.line else ""
        print(f"{name}{place}: {remark.message}", file=sys.stderr)
