"""`tabterm show`: print a file as text tab."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.convert import print_remarks
from tabterm.formats.text import DEFAULT_ROWS, NARROWEST, ROWS, WIDEST, write
from tabterm.hand.strokes import with_proposals

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument(
        "--width", type=int, help=f"characters of a line, {NARROWEST} to {WIDEST} (the terminal's, or 80)"
    )
    parser.add_argument("--rows", help=f"rows beside the courses, with commas: {','.join(ROWS)} (all but degree)")


def run(arguments: argparse.Namespace) -> int:
    """Print."""
    reading = formats.read(arguments.file)
    print_remarks(str(arguments.file), reading)
    width = arguments.width
    if width is None:
        width = min(max(shutil.get_terminal_size((80, 24)).columns, NARROWEST), WIDEST)
    rows = DEFAULT_ROWS
    if arguments.rows is not None:
        rows = tuple(row.strip() for row in arguments.rows.split(",") if row.strip())
    print(write(with_proposals(reading.score), width=width, rows=rows).decode(), end="")
    return 0
