"""`tabterm show`: print a file as text tab."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli.scores import add_choice, mine, page, read_score
from tabterm.formats.text import NARROWEST, ROWS, WIDEST
from tabterm.hand.proposals import with_hands

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument(
        "--width", type=int, help=f"characters of a line, {NARROWEST} to {WIDEST} (the terminal's, or 80)"
    )
    parser.add_argument("--rows", help=f"rows beside the courses, with commas: {','.join(ROWS)} (all but degree)")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print."""
    rows = None
    if arguments.rows is not None:
        rows = tuple(row.strip() for row in arguments.rows.split(",") if row.strip())
    player = mine()
    fingered = with_hands(read_score(arguments.file, player, arguments), player)
    print(page(fingered, arguments.width, rows), end="")
    return 0
