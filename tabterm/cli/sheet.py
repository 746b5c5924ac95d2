"""`tabterm sheet`: print a score as PDF, PNG, SVG, HTML or a page of text."""

from __future__ import annotations

import argparse
import re
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tabterm.cli.inputs import FILES, STDIN, Answer, add_json, add_kind, each, file_in, split_out
from tabterm.cli.output import note, to_pipe, watched
from tabterm.cli.scores import (
    CHOICE,
    add_choice,
    add_measures,
    add_necks,
    among,
    necks_of,
    number_from_1,
    opened,
    report_files,
    settings,
)
from tabterm.errors import FormatError, ScoreError
from tabterm.piece import sheet
from tabterm.piece.targets import SHEETS
from tabterm.storage.names import check_free

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from tabterm.score.model import Score
    from tabterm.score.report import Report

ENDINGS = (*SHEETS, *sheet.TEXT)
_MEASURES = re.compile(r"(\d{1,5})(?:-(\d{1,5}))?", re.ASCII)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.usage = "tabterm sheet FILE OUT  |  FILE ... FOLDER --to-format FORMAT  |  FILE ... -o OUT"
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE", help=f"{FILES}; the last one is the output")
    add_kind(parser)
    parser.add_argument(
        "-o", "--out", type=Path, metavar="OUT", help=f"the file to write, or a folder: {', '.join(ENDINGS)}"
    )
    parser.add_argument(
        "--to-format",
        metavar="FORMAT",
        type=_ending,
        help="format for standard output, or for a folder, such as pdf",
    )
    add_measures(parser)
    parser.add_argument(
        "--parts",
        choices=("both", "tab", "notation", "lead"),
        default="both",
        help="notation and tab, only one of them, or lead: melody and chords (both)",
    )
    add_json(parser)
    parser.add_argument("--large", action="store_true", help="large print, for a music stand")
    parser.add_argument(
        "--paper", choices=("a4", "letter"), help="paper size (as configured, or usual in your country)"
    )
    parser.add_argument("--landscape", action="store_true", help="landscape format")
    parser.add_argument(
        "--margin", dest="margin_mm", type=float, metavar="MM", help="margin on all sides, 5 to 60 mm (15)"
    )
    parser.add_argument(
        "--measures", dest="numbers", type=_measures, metavar="A-B", help="the same as --from and --to: 5-12, or 5"
    )
    parser.add_argument("--phrase", type=number_from_1, metavar="N", help="only this phrase, by its number")
    parser.add_argument("--original", action="store_true", help="the original line above the staff")
    parser.add_argument(
        "--rows", type=among(sheet.ROWS), metavar="ROW,...", help=f"rows to print: {','.join(sheet.ROWS)}"
    )
    parser.add_argument(
        "--fingers",
        choices=("tab", "notation", "both"),
        help="where to print fingers if there are two staves (tab)",
    )
    add_necks(parser)
    parser.add_argument("--silent-strokes", action="store_true", help="silent strokes too, in brackets")
    parser.add_argument(
        "--dpi", type=number_from_1, metavar="N", help=f"dots per inch of a PNG picture ({sheet.DPI})"
    )
    parser.add_argument("--force", action="store_true", help="overwrite existing files")
    add_choice(parser, [word for word in CHOICE if word != "measures"])


def _measures(text: str) -> tuple[int, int]:
    """The first and last number of measures."""
    match = _MEASURES.fullmatch(text)
    if match is None:
        raise argparse.ArgumentTypeError(f"not measures: '{text}' (write 5-12 or 5)")
    return int(match[1]), int(match[2] or match[1])


def _ending(text: str) -> str:
    ending = f".{text.lstrip('.').lower()}"
    if ending not in ENDINGS:
        known = ", ".join(each[1:] for each in ENDINGS)
        raise argparse.ArgumentTypeError(f"not a kind of sheet: '{text}' (one of: {known})")
    return ending


def run(arguments: argparse.Namespace) -> int:
    """Read, lay out and write."""
    arguments.target = split_out(arguments)
    return each(arguments, _print, headed=False)


def _print(arguments: argparse.Namespace) -> Answer:
    out = file_in(arguments.target, arguments)
    ending = (arguments.to_format or "") if out == STDIN else out.suffix.lower()
    if out == STDIN and not ending:
        raise FormatError("no kind of sheet for standard output", hint="name one with --to-format")
    if ending not in ENDINGS:
        raise FormatError(
            f"unknown file extension '{out.suffix}'", place=str(out), hint=f"one of: {', '.join(ENDINGS)}"
        )
    if arguments.dpi is not None and ending != ".png":
        raise FormatError(f"--dpi is for pictures, not for {ending}", place=str(out), hint="leave it out")
    if out != STDIN:
        check_free(out, force=arguments.force)
    piece = opened(arguments.file, arguments).fingered()
    told = {name: getattr(arguments, name) for name in WORDS} | {"measures": _numbers(arguments)}
    told["necks"] = necks_of(piece, arguments)
    told["paper"] = arguments.paper or sheet.paper_of(settings(told=True).sheet.paper)
    with watched(len(piece.score.measures), "engraving") as advance:
        print_in = partial(_to_pipe, ending) if out == STDIN else partial(_to_file, out, force=arguments.force)
        paths, report = print_in(piece.score, dpi=arguments.dpi or sheet.DPI, progress=_steps(advance), **told)
    lines = list(report.lines(piece.score, out))
    for line in lines:
        note(line)
    for path in () if arguments.json or out == STDIN else paths:
        print(f"{path}: {SHEETS.get(out.suffix.lower(), 'page of text')} written")
    return Answer(data=report_files(paths, lines))


WORDS = ("parts", "large", "landscape", "margin_mm", "phrase", "rows", "fingers", "silent_strokes", "original")
"""Arguments that say how a sheet is laid out."""


def _to_file(out: Path, score: Score, **told: Any) -> tuple[Iterable[Path], Report]:
    written = sheet.write_sheet(out, score, **told)
    return written.paths, written.report


def _to_pipe(ending: str, score: Score, **told: Any) -> tuple[Iterable[Path], Report]:
    """To standard output, as for a printer: `tabterm sheet tune.tabterm - --to-format pdf | lp`."""
    if sys.stdout.isatty():
        raise FormatError("a sheet cannot be shown on a terminal", hint="pipe it into a program, or name a file")
    made = sheet.printed(score, ending, **told)
    if len(made.files) > 1:
        count = len(made.files)
        raise FormatError(f"{count} pages are {count} files", hint="print them as pdf or html, or name a file")
    to_pipe(made.files[0], is_text=False)
    return [STDIN], made.report


def _numbers(arguments: argparse.Namespace) -> tuple[int | None, int | None] | None:
    """The numbers of the first and last measure, None for the first or last of all; or None for all."""
    ends: tuple[int | None, int | None] = (arguments.first, arguments.last)
    if arguments.numbers is None:
        return None if ends == (None, None) else ends
    if ends != (None, None):
        raise ScoreError("--measures says the same as --from and --to", hint="use one of them")
    numbers: tuple[int, int] = arguments.numbers
    return numbers


def _steps(advance: Callable[[int], None]) -> Callable[[int, int], None]:
    """Tell of the measures done since the last time, instead of all that are."""
    done = 0

    def progress(now: int, _all: int) -> None:
        nonlocal done
        advance(now - done)
        done = now

    return progress
