"""`tabterm convert`: write a file in another format."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.scores import check_out, read_score
from tabterm.hand.proposals import with_hands

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
    check_out(arguments.out, force=arguments.force)
    score = read_score(arguments.file)
    for remark in formats.write(arguments.out, with_hands(score)):
        print(f"{arguments.out}: {remark.message}", file=sys.stderr)
    print(f"{arguments.out}: {formats.format_of(arguments.out).name} written")
    return 0
