"""`tabterm strokes`: a stroke for every struck note, by a school of picking."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli.output import tell
from tabterm.cli.scores import add_choice, check_out, opened, page, write
from tabterm.errors import ScoreError
from tabterm.hand.schools import SCHOOLS
from tabterm.hand.strokes import idle_schools
from tabterm.score.kinds import StrokeSchool

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, nargs="?", help="a score in any format that can be read")
    parser.add_argument("-o", "--out", type=Path, help="write to this file, in the format of its ending")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")
    parser.add_argument("--school", metavar="NAME", help=f"one of: {', '.join(StrokeSchool)}")
    parser.add_argument("--schools", action="store_true", help="list the schools, with their sources")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Propose the strokes of a file; set ones stay."""
    if arguments.schools:
        for name, school in SCHOOLS.items():
            print(f"{name:18} {school.title}\n    {school.words}\n    Source: {school.source}.")
        return 0
    if arguments.file is None:
        raise ScoreError("no file given", hint="`tabterm strokes FILE`, or --schools for the list")
    check_out(arguments.out, force=arguments.force)
    piece = opened(arguments.file, arguments).stroked(arguments.school)
    for line in idle_schools(piece.score):
        tell(f"tabterm: {line}")
    if arguments.out is None:
        print(page(piece), end="")
    else:
        write(piece, arguments.out)
        print(f"{arguments.out}: written")
    return 0
