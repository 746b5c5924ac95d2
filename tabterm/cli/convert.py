"""`tabterm convert`: write a file in another format, fitted to the neck where it is for another instrument."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.output import tell
from tabterm.cli.scores import MOST_DIGITS, add_choice, check_out, opened, write

if TYPE_CHECKING:
    from tabterm.piece.piece import Piece


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
    parser.add_argument(
        "--values",
        metavar="N=VALUES",
        action="append",
        default=[],
        type=_values,
        help="note values for measure N, such as 5=4,8,8 or 5=8 (they begin again; -4: a rest); may be repeated",
    )
    add_choice(parser)


def _values(text: str) -> tuple[int, str]:
    """The number of a measure and its note values."""
    number, sign, values = text.partition("=")
    if not (sign and number.isdecimal() and len(number) <= MOST_DIGITS and values):
        raise argparse.ArgumentTypeError(f"not a measure and its note values: '{text}' (write 5=4,8,8)")
    return int(number), values


def run(arguments: argparse.Namespace) -> int:
    """Read, write, and tell what could not be carried over."""
    check_out(arguments.out, force=arguments.force)
    piece = opened(arguments.file, arguments, quietly=True)
    for line in piece.report.lines(piece.score, arguments.file, details=arguments.report):
        (print if arguments.report else tell)(line)
    for measure, values in arguments.values:
        piece = piece.with_values(measure, values)
    write(_proposed(piece, arguments), arguments.out, report=arguments.report, view=arguments.view)
    print(f"{arguments.out}: {formats.format_of(arguments.out).name} written")
    return 0


def _proposed(piece: Piece, arguments: argparse.Namespace) -> Piece:
    """The piece to be written: fingers and strokes are proposed for a line from another program, or for one.

    Our own formats hold what was proposed and what was not, so that a score comes back as it was.
    """
    if piece.report.summary or any(formats.format_of(path).foreign for path in (arguments.file, arguments.out)):
        return piece.fingered()
    return piece
