"""`tabterm handout`: a folder for a student: booklet, page, audio at several tempos, MIDI, MusicXML, text tab."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli import hearing
from tabterm.cli.inputs import STDIN, add_json
from tabterm.cli.output import watched
from tabterm.cli.scores import add_necks, among, necks_of, report_files, settings, tempo_share
from tabterm.errors import StorageError
from tabterm.piece import audio
from tabterm.piece.handout.folder import CAUTIONS, FILES, Handout
from tabterm.piece.handout.lesson import SECTIONS
from tabterm.piece.handout.pack import TEMPOS
from tabterm.piece.sheet import paper_of
from tabterm.storage.names import named_after
from tabterm.storage.whole import filling

if TYPE_CHECKING:
    import argparse

    from tabterm.score.tempo import Tempo


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    kinds = [ending[1:] for ending in audio.ENDINGS]
    hearing.add_what(parser)
    parser.add_argument("folder", type=Path, nargs="?", help="the folder to make")
    parser.add_argument(
        "-o",
        "--out",
        dest="named",
        type=Path,
        metavar="FOLDER",
        help="the folder to make, named before or after the score",
    )
    add_json(parser)
    only, without = ", ".join(FILES), ", ".join((*FILES, *SECTIONS))
    parser.add_argument("--only", metavar="PART,...", type=among(FILES), help=f"only these files: {only}")
    parser.add_argument(
        "--without", metavar="PART,...", type=among((*FILES, *SECTIONS)), default=(), help=f"leave out: {without}"
    )
    parser.add_argument(
        "--paper",
        choices=("a4", "letter"),
        help="paper size of the booklet (as configured, or usual in your country)",
    )
    usual = ",".join(f"{percent}%%" for percent in TEMPOS)
    parser.add_argument(
        "--tempos",
        metavar="TEMPO,...",
        help=f"percentages or tempos, 20 to 200%% of the written tempo ({usual})",
    )
    parser.add_argument("--format", choices=kinds, default="mp3", help="kind of audio file (mp3)")
    hearing.add_how(parser, count_in=1, click=None)
    parser.set_defaults(count_in=None)
    hearing.add_seamless(parser)
    add_necks(parser)
    parser.add_argument("--force", action="store_true", help="write into a folder that already exists")


def run(arguments: argparse.Namespace) -> int:
    """Write everything into a folder beside, which takes its name when all is there."""
    if (arguments.folder is None) == (arguments.named is None):
        hint = "name it last, or after -o"
        raise StorageError("a handout needs one folder", place=str(arguments.file), hint=hint)
    folder = arguments.folder or arguments.named
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
        _percents(arguments.tempos, piece.score.head.tempo),
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
    paths = [folder / name for name in names]
    told = () if handout.files & {"booklet", "page", "readme"} else CAUTIONS
    if arguments.json:
        print(printable.as_json(report_files(paths, told), indent=2))
    else:
        print(*paths, *told, sep="\n")
    return 0


def _percents(text: str | None, tempo: Tempo) -> tuple[int, ...]:
    """Percentages of the written tempo, each once, the slowest first: `60%` is one, `84` or `3/8=70` a tempo.

    Raises:
        ScoreError: One of them is neither.
    """
    if text is None:
        return TEMPOS
    return tuple(sorted({round(100 * tempo_share(word.strip(), tempo)) for word in text.split(",")}))
