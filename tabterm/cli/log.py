"""`tabterm log`: what has been practised of a piece, or of all of them, and its export."""

from __future__ import annotations

import os
import shutil
import sys
from dataclasses import asdict
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import STDIN, add_json, check_one_answer
from tabterm.cli.output import to_pipe
from tabterm.cli.scores import tell_files
from tabterm.cli.tables import print_table
from tabterm.piece.practice_graph import ASCII_BLOCKS, BLOCKS, graph, in_words, passages
from tabterm.piece.practice_log import PracticeLog, as_csv, path
from tabterm.printable import counted
from tabterm.storage.names import check_free
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    import argparse

    from tabterm.piece.practice_log import LogEntry

HEIGHT = 8
"""Lines of a graph."""

WIDEST = 100


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, nargs="?", help="a piece (without it: all pieces)")
    parser.add_argument(
        "-o",
        "--out",
        "--csv",
        dest="csv",
        type=Path,
        metavar="OUT",
        help="export the entries as comma-separated values; - prints them",
    )
    add_json(parser)
    parser.add_argument("--force", action="store_true", help="overwrite an existing file")


def run(arguments: argparse.Namespace) -> int:
    """Print the passages with their graphs, or write the entries."""
    log = PracticeLog()
    file: Path | None = arguments.file
    entries = log.entries() if file is None else log.entries(Path(os.path.realpath(file)), _title(file))
    if arguments.csv is not None:
        _export(entries, arguments.csv, force=arguments.force, as_data=arguments.json)
    elif arguments.json:
        print(printable.as_json([_as_data(entry) for entry in entries], indent=2))
    elif not entries:
        print(f"nothing practised yet{'' if file is None else f' of {file}'} (the log is {path()})")
    elif file is None:
        _list_pieces(entries)
    else:
        _print_passages(entries)
    return 0


def _title(file: Path) -> str:
    """The title of a piece whose file is there; raises FormatError where that is none."""
    from tabterm import formats

    return formats.read(file).music.head.title if file.exists() else ""


def _export(entries: list[LogEntry], out: Path, *, force: bool, as_data: bool) -> None:
    text = as_csv(entries)
    check_one_answer(out, as_data=as_data)
    if out == STDIN:
        to_pipe(text.encode(), is_text=True)
        return
    check_free(out, force=force)
    atomic_write(out, text.encode())
    tell_files([out], "practice log", as_data=as_data)


def _as_data(entry: LogEntry) -> dict[str, object]:
    """An entry as plain data; the beat as a note value, the moment with its time zone."""
    return asdict(entry) | {"begun": entry.begun.isoformat(), "beat": str(entry.beat)}


def _list_pieces(entries: list[LogEntry]) -> None:
    """A piece a line, the one practised last at the end."""
    rows = []
    newest = {entry.file: number for number, entry in enumerate(entries)}
    for file, group in groupby(
        sorted(entries, key=lambda entry: newest[entry.file]), key=lambda entry: entry.file
    ):
        done = list(group)
        last = done[-1]
        days = len({entry.begun.date() for entry in done})
        time = in_words(sum(entry.seconds for entry in done))
        count = len({entry.passage for entry in done})
        passages_told, days_told = counted(count, "passage"), counted(days, "day")
        title = last.title or Path(file).name
        rows.append((f"{last.begun:%Y-%m-%d}", title, passages_told, days_told, time, file))
    print_table(("last day", "piece", "practised", "on", "for", "file"), rows)


def _print_passages(entries: list[LogEntry]) -> None:
    """Every passage in a line, with a graph where it was practised on several days."""
    width = min(shutil.get_terminal_size((80, 24)).columns, WIDEST)
    for passage in passages(entries):
        print(passage)
        if len(passage.days) > 1:
            print("\n".join(graph(passage, width, HEIGHT, _blocks())))
            print()


def _blocks() -> str:
    """The characters that standard output can take."""
    try:
        BLOCKS.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ASCII_BLOCKS
    return BLOCKS
