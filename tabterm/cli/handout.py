"""`tabterm handout`: a folder for a student: booklet, page, audio at several tempos, MIDI, MusicXML, text tab."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli import hearing
from tabterm.cli.inputs import STDIN
from tabterm.cli.output import watched
from tabterm.cli.scores import add_necks, among, necks_of, settings
from tabterm.errors import StorageError
from tabterm.piece import audio
from tabterm.piece.handout.folder import CAUTIONS, FILES, Handout
from tabterm.piece.handout.lesson import SECTIONS
from tabterm.piece.handout.pack import TEMPOS, percents_of
from tabterm.piece.sheet import paper_of
from tabterm.storage.names import named_after
from tabterm.storage.whole import filling

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    kinds = [ending[1:] for ending in audio.ENDINGS]
    hearing.add_what(parser)
    parser.add_argument("folder", type=Path, help="the folder to make")
    only, without = ", ".join(FILES), ", ".join((*FILES, *SECTIONS))
    parser.add_argument("--only", metavar="PART,...", type=among(FILES), help=f"only these files: {only}")
    parser.add_argument(
        "--without", metavar="PART,...", type=among((*FILES, *SECTIONS)), default=(), help=f"leave out: {without}"
    )
    parser.add_argument(
        "--paper", choices=("a4", "letter"), help="paper of the booklet (as configured, or your country's)"
    )
    parser.add_argument("--tempos", default=TEMPOS, metavar="PCT,...", help=f"20 to 200 percent each ({TEMPOS})")
    parser.add_argument("--format", choices=kinds, default="mp3", help="kind of audio file (mp3)")
    hearing.add_how(parser, count_in=1, click=None)
    parser.set_defaults(count_in=None)
    hearing.add_seamless(parser)
    add_necks(parser)
    parser.add_argument("--force", action="store_true", help="write into a folder that already exists")


def run(arguments: argparse.Namespace) -> int:
    """Write everything into a folder beside, which takes its name when all is there."""
    folder = arguments.folder
    hearing.check_turns(arguments)
    if arguments.count_in is None:
        arguments.count_in = 0 if arguments.seamless else 1
    if folder.exists() and not (folder.is_dir() and (arguments.force or not any(folder.iterdir()))):
        raise StorageError("it already exists", place=str(folder), hint="--force writes into it")
    piece, span = hearing.piece_of(arguments)
    handout = Handout(
        piece.fingered(),
        named_after(piece.score.head.title) if arguments.file == STDIN else arguments.file.stem,
        hearing.practice_of(arguments, piece.score, "both"),
        percents_of(arguments.tempos),
        span=span,
        turns=arguments.loop,
        seamless=arguments.seamless,
        kind=arguments.format,
        may_click=arguments.click is None,
        files=frozenset(arguments.only or FILES) - frozenset(arguments.without),
        sections=frozenset(SECTIONS) - frozenset(arguments.without),
        necks=necks_of(piece, arguments),
        paper=arguments.paper or paper_of(settings(told=True).sheet.paper),
    )
    with filling(folder) as new:
        takes = handout.takes(new)
        hearing.tell_length(takes)
        with watched(handout.frames(takes)) as watch:
            names = handout.fill(new, takes, watch)
    for name in names:
        print(folder / name)
    print(*CAUTIONS, sep="\n")
    return 0
