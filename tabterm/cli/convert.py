"""`tabterm convert`: write a file in another format, fitted to the neck where it is for another instrument."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.scores import add_choice, check_out, choice_of, mine, write_score
from tabterm.hand.proposals import with_hands
from tabterm.workspace.intake import take_in

if TYPE_CHECKING:
    import argparse

    from tabterm.hand.player import Player
    from tabterm.score.model import Score
    from tabterm.workspace.intake import Intake


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    endings = ", ".join(ending for ending, kind in formats.FORMATS.items() if kind.writes)
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("out", type=Path, help=f"the file to write; its ending names the format: {endings}")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")
    parser.add_argument(
        "--report", action="store_true", help="print all that was moved, left out, replaced or not carried over"
    )
    parser.add_argument("--view", help="of a MusicXML file: notes, tab or both (notes)")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Read, write, and tell what could not be carried over."""
    check_out(arguments.out, force=arguments.force)
    player = mine()
    taken = take_in(arguments.file, player, choice_of(arguments))
    for line in taken.report.lines(taken.score, arguments.file, details=arguments.report):
        print(line, file=sys.stdout if arguments.report else sys.stderr)
    score = _proposed(taken, player, arguments)
    write_score(arguments.out, score, report=arguments.report, view=arguments.view)
    print(f"{arguments.out}: {formats.format_of(arguments.out).name} written")
    return 0


def _proposed(taken: Intake, player: Player, arguments: argparse.Namespace) -> Score:
    """The score to be written: fingers and strokes are proposed for a line from another program, or for one.

    Our own formats hold what was proposed and what was not, so that a score comes back as it was.
    """
    ends = (arguments.file, arguments.out)
    if taken.report.summary or any(formats.format_of(path).foreign for path in ends):
        return with_hands(taken.score, player)
    return taken.score
