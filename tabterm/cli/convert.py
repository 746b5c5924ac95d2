"""`tabterm convert`: write a file in another format, fitted to the neck where it is for another instrument."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.inputs import FILES, STDIN, Answer, add_json, add_kind, each, file_in, split_out
from tabterm.cli.output import note
from tabterm.cli.scores import (
    MOST_DIGITS,
    add_choice,
    add_measures,
    add_out,
    check_out,
    opened,
    tell_written,
    write,
)

if TYPE_CHECKING:
    from tabterm.piece.piece import Piece


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    endings = ", ".join(ending for ending, kind in formats.FORMATS.items() if kind.writes)
    parser.usage = "tabterm convert FILE OUT  |  FILE ... FOLDER --to-format FORMAT  |  FILE ... -o OUT"
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE", help=f"{FILES}; the last one is the output")
    add_kind(parser)
    add_out(parser, f"the file to write, or a folder; its extension sets the format: {endings}")
    add_measures(parser)
    add_json(parser)
    parser.add_argument(
        "--report", action="store_true", help="list everything that was moved, left out, replaced or lost"
    )
    parser.add_argument("--view", help="what a MusicXML file shows: notes, tab or both (notes)")
    parser.add_argument(
        "--values",
        metavar="N=VALUES",
        action="append",
        default=[],
        type=_values,
        help="note values for measure N, such as 5=4,8,8 or 5=8 (repeated to fill the measure; -4: a rest); "
        "use it once for each measure",
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
    arguments.target = split_out(arguments)
    if not arguments.target.is_dir():
        check_out(arguments.target, force=arguments.force, to_format=arguments.to_format)
    return each(arguments, _convert, headed=False)


def _convert(arguments: argparse.Namespace) -> Answer:
    out = file_in(arguments.target, arguments)
    if out != arguments.target:
        check_out(out, force=arguments.force)
    piece = opened(arguments.file, arguments, quietly=True)
    read = list(piece.report.lines(piece.score, arguments.file, details=arguments.report))
    quiet = arguments.json or out == STDIN
    for line in read:
        (print if arguments.report and not quiet else note)(line)
    for measure, values in arguments.values:
        piece = piece.with_values(measure, values)
    piece = _proposed(piece, arguments, out).measures(arguments.first, arguments.last)
    reports = arguments.report and not quiet
    told = write(piece, out, report=reports, to_format=arguments.to_format, view=arguments.view)
    if not arguments.json:
        tell_written(out, "" if out == STDIN else formats.format_of(out).name)
    return Answer(data={"read": read} | told)


def _proposed(piece: Piece, arguments: argparse.Namespace, out: Path) -> Piece:
    """The piece to be written: fingers and strokes are proposed for a line from another program, or for one.

    Our own formats hold what was proposed and what was not, so that a score comes back as it was.
    """
    read, written = (arguments.file, arguments.from_format), (out, arguments.to_format if out == STDIN else None)
    known = [formats.kind_of(path, ending or "") for path, ending in (read, written) if path != STDIN or ending]
    if piece.report.summary or any(kind.foreign for kind in known):
        return piece.fingered()
    return piece
