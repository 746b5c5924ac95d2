"""`tabterm show`: print a file as text tab."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli.scores import add_choice, opened, page
from tabterm.formats.text import DEFAULT_ROWS, NARROWEST, ROWS, WIDEST

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument(
        "--width", type=int, help=f"characters of a line, {NARROWEST} to {WIDEST} (the terminal's, or 80)"
    )
    unasked = ",".join(DEFAULT_ROWS)
    parser.add_argument("--rows", help=f"rows beside the courses, with commas: {','.join(ROWS)} ({unasked})")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print."""
    rows = None
    if arguments.rows is not None:
        rows = tuple(row.strip() for row in arguments.rows.split(",") if row.strip())
    print(page(opened(arguments.file, arguments).fingered(), arguments.width, rows), end="")
    return 0
