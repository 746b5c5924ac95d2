"""`tabterm show`: print a file, or some measures of it, as text tab."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.cli.inputs import Answer, add_files, each
from tabterm.cli.output import check_clipboard, note, to_clipboard
from tabterm.cli.scores import add_choice, add_measures, opened, page
from tabterm.errors import FormatError
from tabterm.formats.text import DEFAULT_ROWS, NARROWEST, ROWS, WIDEST

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    parser.add_argument(
        "--width", type=int, help=f"characters of a line, {NARROWEST} to {WIDEST} (the terminal's, or 80)"
    )
    unasked = ",".join(DEFAULT_ROWS)
    parser.add_argument("--rows", help=f"rows beside the courses, with commas: {','.join(ROWS)} ({unasked})")
    parser.add_argument(
        "--clean", action="store_true", help="ready to paste into a message: no head, no proposal marks"
    )
    parser.add_argument(
        "--copy", action="store_true", help="copy it to your terminal's clipboard as well, over SSH too"
    )
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print each file, and copy where that was asked for."""
    if arguments.copy:
        check_clipboard()
        if len(arguments.files) > 1 or arguments.files[0].is_dir():
            raise FormatError("a clipboard holds one tab", hint="name one file with --copy")
    return each(arguments, _show)


def _show(arguments: argparse.Namespace) -> Answer:
    rows = None
    if arguments.rows is not None:
        rows = tuple(row.strip() for row in arguments.rows.split(",") if row.strip())
    piece = opened(arguments.file, arguments).fingered()
    if arguments.clean:
        from tabterm.formats.text.excerpt import CLEAN_WIDTH

        text = piece.excerpt(
            arguments.first,
            arguments.last,
            width=CLEAN_WIDTH if arguments.width is None else arguments.width,
            rows=rows,
        )
    else:
        text = page(piece.measures(arguments.first, arguments.last), arguments.width, rows)
    if arguments.copy:
        to_clipboard(text)
    print(text, end="")
    if arguments.copy:
        note(f"tabterm: {len(text)} characters sent to the clipboard of your terminal")
    return Answer()
