"""`tabterm strokes`: a stroke for every struck note, by a school of picking."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.finger import events, listed
from tabterm.cli.inputs import FILES, Answer, add_json, add_kind, each
from tabterm.cli.output import note
from tabterm.cli.scores import add_choice, add_measures, add_out, check_out, opened, page, tell_written, write
from tabterm.errors import ScoreError
from tabterm.hand.schools import SCHOOLS
from tabterm.hand.strokes import idle_schools
from tabterm.score.kinds import StrokeSchool

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("files", type=Path, nargs="*", metavar="FILE", help=FILES)
    add_kind(parser)
    add_measures(parser)
    add_out(parser)
    add_json(parser)
    parser.add_argument("--school", metavar="NAME", help=f"one of: {', '.join(StrokeSchool)}")
    parser.add_argument("--schools", action="store_true", help="list the schools, with their sources")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Propose the strokes of a file; set ones stay."""
    if arguments.schools:
        return _list_schools(as_data=arguments.json)
    if not arguments.files:
        raise ScoreError("no file given", hint="`tabterm strokes FILE`, or --schools for the list")
    check_out(arguments.out, force=arguments.force, to_format=arguments.to_format)
    return each(arguments, _stroke)


def _list_schools(*, as_data: bool) -> int:
    if as_data:
        fields = ("title", "words", "source")
        data = [
            {"name": name} | {each: getattr(school, each) for each in fields} for name, school in SCHOOLS.items()
        ]
        print(printable.as_json(data, indent=2))
        return 0
    for name, school in SCHOOLS.items():
        print(f"{name:18} {school.title}\n    {school.words}\n    Source: {school.source}.")
    return 0


def _stroke(arguments: argparse.Namespace) -> Answer:
    piece = opened(arguments.file, arguments).stroked(arguments.school)
    for line in idle_schools(piece.score):
        note(f"tabterm: {line}")
    asked = piece.measures(arguments.first, arguments.last)
    if arguments.out is not None:
        write(asked, arguments.out, to_format=arguments.to_format)
    if arguments.json:
        found = events(piece.score, arguments)
        return Answer(data=found, written=listed(found))
    if arguments.out is None:
        print(page(asked), end="")
    else:
        tell_written(arguments.out)
    return Answer()
