"""`tabterm show`: print a file, or some measures of it, as text tab or as a table.

With `--json` it prints a list with one object an event, each on a line of its own::

    {"measure": 1, "onset": "3/2", "notes": [{"course": 2, "fret": 3, "finger": 2}], "stroke": "up",
     "beat": "2&", "value": "8", "chord": "G", "degree": "5"}

The first four are those of `tabterm finger --json`; `beat` is counted as a player does, `chord` is the one in
force, null where there is none, and `degree` is that of each note to it, the highest course first, parted by `/`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.cli.finger import events, listed
from tabterm.cli.inputs import Answer, add_files, each
from tabterm.cli.output import check_clipboard, note, to_clipboard
from tabterm.cli.scores import add_choice, add_measures, opened, page, within
from tabterm.cli.tables import print_table
from tabterm.errors import FormatError
from tabterm.formats.text import DEFAULT_ROWS, NARROWEST, ROWS, WIDEST
from tabterm.harmony.spelling import chord_in_force
from tabterm.page.cells import degrees
from tabterm.page.signs import course_cells, finger_cell, stroke_cell
from tabterm.score.place import Place, count_name, display_number

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from tabterm.score.model import Event, Score

COLUMNS = ("measure", "beat", "value", "notes", "fingers", "stroke", "chord", "degree")
"""Of the table."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    parser.add_argument(
        "--width", type=int, help=f"characters per line, {NARROWEST} to {WIDEST} (the terminal's, or 80)"
    )
    unasked = ",".join(DEFAULT_ROWS)
    parser.add_argument("--rows", help=f"rows beside the courses, with commas: {','.join(ROWS)} ({unasked})")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--table", action="store_true", help=f"one line per event: {', '.join(COLUMNS)}")
    form.add_argument("--json", action="store_true", help="print its events as JSON")
    form.add_argument(
        "--clean", action="store_true", help="ready to paste into a message: no head, no proposal marks"
    )
    parser.add_argument(
        "--copy", action="store_true", help="also copy it to your terminal's clipboard, over SSH too"
    )
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print each file, and copy where that was asked for."""
    if arguments.copy:
        check_clipboard()
        if arguments.table or arguments.json:
            raise FormatError("--copy copies a tab, not a table or data", hint="leave out --copy")
        if len(arguments.files) > 1 or arguments.files[0].is_dir():
            raise FormatError("--copy takes one file", hint="name one file")
    return each(arguments, _show)


def _show(arguments: argparse.Namespace) -> Answer:
    rows = None
    if arguments.rows is not None:
        rows = tuple(row.strip() for row in arguments.rows.split(",") if row.strip())
    piece = opened(arguments.file, arguments).fingered()
    if arguments.table:
        print_table(COLUMNS, list(_rows(piece.score, arguments)))
        return Answer()
    if arguments.json:
        found = list(_data(piece.score, arguments))
        return Answer(data=found, written=listed(found))
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


def _timed(score: Score, arguments: argparse.Namespace) -> Iterator[tuple[Place, Event]]:
    """The events of the measures that are asked for, and where they stand."""
    for index in within(score, arguments):
        yield from ((Place(index, offset), event) for offset, event in score.measures[index].timed())


def _rows(score: Score, arguments: argparse.Namespace) -> Iterator[tuple[str, ...]]:
    """Each event as cells of the table; a note is its course and its text on it: `A3`."""
    letters = score.head.instrument.course_letters()
    for place, event in _timed(score, arguments):
        cells = course_cells(score, place.measure)
        notes = [f"{letters[note.course - 1]}{cells[place.offset, note.course]}" for note in event.notes]
        told = _told(score, place)
        yield (
            str(display_number(score, place.measure)),
            told["beat"] or "",
            str(event.duration),
            " ".join(notes) or "rest",
            finger_cell(event),
            stroke_cell(event),
            told["chord"] or "",
            told["degree"] or "",
        )


def _data(score: Score, arguments: argparse.Namespace) -> Iterator[dict[str, object]]:
    """Each event as plain data."""
    found = zip(events(score, arguments), _timed(score, arguments), strict=True)
    for data, (place, event) in found:
        yield data | {"value": str(event.duration)} | _told(score, place)


def _told(score: Score, place: Place) -> dict[str, str | None]:
    """How the moment is counted, the chord in force, and the degrees of the notes to it."""
    return {
        "beat": count_name(score, place),
        "chord": chord_in_force(score, place),
        "degree": degrees(score, place.measure).get(place.offset),
    }
