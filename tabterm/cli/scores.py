"""What the commands share: reading a score as this player's, and not writing over one by mistake.

What reads and judges scores is loaded when it is first wanted: the editor draws its first picture before.
"""

from __future__ import annotations

import argparse
import math
import re
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tabterm import printable
from tabterm.cli.inputs import STDIN, ending, source_of
from tabterm.cli.output import MANNER, note, tell, to_pipe
from tabterm.errors import FormatError, ScoreError, StorageError

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Sequence

    from tabterm.errors import ConfigurationError
    from tabterm.page.neck_map import NeckMap
    from tabterm.piece.configuration import Configuration
    from tabterm.piece.piece import Piece
    from tabterm.piece.player import Player
    from tabterm.score.model import Score
    from tabterm.score.place import Place
    from tabterm.score.report import Report
    from tabterm.score.tempo import Tempo


CHOICE = {
    "tune": ("N", "tune of an ABC file, by its number (the first)"),
    "track": ("N", "track of a MIDI file, by its number (the one with most notes)"),
    "channel": ("N", "channel of a MIDI file, 1 to 16"),
    "part": ("PART", "part of a MusicXML file, by name or number, or voice of an ABC tune, by name"),
    "voice": ("VOICE", "only this voice of a MusicXML part, by number (all that fit into one line)"),
    "grid": ("GRID", "note values of a MIDI file, such as 8 or 16+8t (t: triplets)"),
    "pickup": ("QUARTERS", "length of the pickup of a MIDI file, such as 1 or 1/2 (0: none)"),
    "measures": ("A-B", "measures of a MIDI file, such as 9-40, counted from its beginning"),
    "instrument": ("WORD", "fit the music to this instrument: mandolin, octave-mandolin ..."),
    "key": ("KEY", "fit it in this key, such as G or Em; easiest: in the easiest key"),
}
"""What can be said about taking a file in, with the word for its value and a line of help."""

NUMBERS = {"tune", "track", "channel"}


def add_choice(parser: argparse.ArgumentParser, words: Iterable[str] = CHOICE) -> None:
    """Add the arguments that say what is read of a file, and how it is fitted to the neck."""
    group = parser.add_argument_group("for files with several tunes or parts, and for other instruments")
    for word in words:
        value, told = CHOICE[word]
        group.add_argument(f"--{word}", metavar=value, help=told, type=number_from_1 if word in NUMBERS else str)


def add_measures(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose measures by the numbers that stand over them, a pickup being 0."""
    parser.add_argument("--from", dest="first", type=int, metavar="M", help="first measure, by its number")
    parser.add_argument("--to", dest="last", type=int, metavar="M", help="last measure, by its number")


def within(score: Score, arguments: argparse.Namespace) -> range:
    """The indices of the measures that are asked for; raises ScoreError where there are none of these numbers."""
    from tabterm.piece.piece import span_of

    span = span_of(score, arguments.first, arguments.last)
    return range(len(score.measures)) if span is None else range(span.start.measure, span.end.measure)


def add_necks(parser: argparse.ArgumentParser) -> None:
    """Add the argument that asks for drawings of the neck."""
    told = "draw a chord or scale on the neck ('D7'), or its double stops ('D7 3-1'); can be repeated"
    parser.add_argument("--neck", dest="necks", action="append", default=[], metavar="WHAT", help=told)


def necks_of(piece: Piece, arguments: argparse.Namespace) -> tuple[NeckMap, ...]:
    """The necks that are asked for; raises ScoreError where one is not understood."""
    from tabterm.hand.neck import neck_of
    from tabterm.page.neck_views import map_named

    neck = neck_of(piece.score.head, piece.player)
    highest = min(HIGHEST_DRAWN, neck.instrument.frets)
    return tuple(map_named(neck, words, highest) for words in arguments.necks)


HIGHEST_DRAWN = 12
"""The last fret of a neck on paper."""

TEMPO = "a tempo, such as 96 or 3/8=90, or a percentage of the written one, such as 80%%"
"""What `--tempo` takes in every command; by its form it is the one or the other."""


def tempo_share(words: str, tempo: Tempo) -> float:
    """What is asked for by `--tempo`, as a share of a written tempo: `80%` is 0.8, 60 of 120 is 0.5.

    Raises:
        ScoreError: The words are neither a tempo nor a percentage.
    """
    from tabterm.score.tempo import Tempo

    if words.endswith("%"):
        number = words[:-1].strip()
        if not re.fullmatch(r"\d{1,6}(?:\.\d{1,6})?", number, re.ASCII):
            meant = f"write {number.replace(',', '.')}%" if "," in number else "such as 80%"
            raise ScoreError(f"not a percentage: '{words}'", hint=meant)
        return float(number) / 100.0
    return Tempo.parse(words).quarters_per_minute / tempo.quarters_per_minute


MOST_DIGITS = 4
"""Of the number of a tune, track or channel."""


def number_from_1(text: str) -> int:
    """A number of something that is counted from 1."""
    if not text.isdecimal() or len(text) > MOST_DIGITS or int(text) < 1:
        raise argparse.ArgumentTypeError(f"not a number from 1 up: '{text}'")
    return int(text)


def number_from_0(text: str) -> float:
    """An amount of 0 or more, with decimals or without."""
    try:
        amount = float(text)
    except ValueError:
        amount = math.nan
    if not 0 <= amount < math.inf:
        raise argparse.ArgumentTypeError(f"not a number from 0 up: '{text}'")
    return amount


def among(known: Collection[str]) -> Callable[[str], tuple[str, ...]]:
    """Reads words with commas between them, each one of those known."""

    def read(text: str) -> tuple[str, ...]:
        words = tuple(word.strip() for word in text.split(","))
        for word in words:
            if word not in known:
                raise argparse.ArgumentTypeError(f"not one of {', '.join(known)}: '{word}'")
        return words

    return read


def choice_of(arguments: argparse.Namespace) -> dict[str, int | str | None]:
    """What was said about taking a file in."""
    return {word: getattr(arguments, word, None) for word in CHOICE}


def mine() -> Player:
    """The player: what cannot be used of the configuration goes to standard error."""
    from tabterm.piece.player import Player

    return Player.of(settings())


def settings(*, told: bool = False) -> Configuration:
    """The player's configuration; what cannot be used goes to standard error, unless told before."""
    from tabterm.piece import configuration

    found, faults = configuration.tolerated()
    for fault in () if told else faults:
        tell(in_default(fault))
    return found


def in_default(fault: ConfigurationError) -> str:
    """The line that tells of something in the configuration that cannot be used."""
    return f"tabterm: {fault}; the default is used"


def opened(path: Path, arguments: argparse.Namespace | None = None, *, quietly: bool = False) -> Piece:
    """A file as this player's piece; what its reader remarks, and how it was fitted, goes to standard error.

    Raises:
        TabtermError: The file cannot be read.
    """
    from tabterm.piece import piece
    from tabterm.piece.player import Player

    own, choice = settings(), choice_of(arguments) if arguments is not None else {}
    source = source_of(path, arguments)
    found = piece.opened(
        path, Player.of(own), chord_names=own.chords.names, ending=source.ending, data=source.data, **choice
    )
    for line in () if quietly else found.report.lines(found.score, path, details=MANNER.verbose):
        note(line)
    return found


def add_out(
    parser: argparse.ArgumentParser, words: str = "write to this file, in the format of its extension"
) -> None:
    """Add the arguments that say what is written, the same in every command that writes."""
    parser.add_argument("-o", "--out", type=Path, metavar="OUT", help=f"{words}; - for standard output")
    parser.add_argument("--force", action="store_true", help="overwrite an existing file")
    add_to_format(parser)


def add_to_format(parser: argparse._ActionsContainer) -> None:
    """Add the argument that names the format of what goes to standard output, or into a folder."""
    parser.add_argument(
        "--to-format",
        metavar="FORMAT",
        type=ending,
        help="format for standard output, or for a folder, such as abc",
    )


def write(
    found: Piece, path: Path, *, report: bool = False, to_format: str | None = None, **told: Any
) -> dict[str, Any]:
    """Write a piece, and say what its file does not carry: on standard error, or in a report on standard output.

    Args:
        found: The piece.
        path: Where to; `-` is standard output.
        report: What is not carried is printed.
        to_format: Ending of the format for standard output.
        told: What the format may be told.

    Returns:
        What was written, as plain data for `--json`.

    Raises:
        FormatError: The ending names no format, or one that cannot be told that.
        StorageError: The disk refused.
    """
    made = _printed(found, to_format, **told) if path == STDIN else found.write(path, force=True, **told)
    lines = made.lines(found.score, path)
    for line in lines:
        (print if report else note)(line)
    return record_of(path) | {"report": list(lines)}


def record_of(path: Path) -> dict[str, object]:
    """A file that was written as plain data: its name and size; a pipe has no size."""
    return {"written": str(path), "bytes": None if path == STDIN else path.stat().st_size}


def report_files(paths: Iterable[Path], lines: Iterable[str] = ()) -> dict[str, object]:
    """Several files that were written, and what is said of them, as plain data for `--json`."""
    return {"files": [record_of(path) for path in paths], "report": list(lines)}


def tell_files(paths: Sequence[Path], what: str = "", report: Iterable[str] = (), *, as_data: bool) -> None:
    """Say that files were written: in lines, or as data together with what has been said of them."""
    if as_data:
        print(printable.as_json(report_files(paths, report), indent=2))
        return
    for path in paths:
        tell_written(path, what)


def _printed(found: Piece, to_format: str | None, **told: Any) -> Report:
    """Print a piece as a file of a format."""
    from tabterm import formats

    writing = formats.written(Path(f"out{to_format}"), found.score, **told)
    to_pipe(writing.data, is_text=not formats.FORMATS[to_format or ""].binary)
    return writing.report


def tell_written(path: Path, what: str = "") -> None:
    """Say that a file was written, unless it went to standard output."""
    if path != STDIN:
        print(f"{path}: {what} written" if what else f"{path}: written")


def check_out(path: Path | None, *, force: bool, to_format: str | None = None) -> None:
    """Raise FormatError or StorageError where a file cannot be written, before any work is done."""
    if path is None:
        return
    from tabterm import formats
    from tabterm.storage.names import check_free

    if path == STDIN:
        if to_format is None:
            raise FormatError("no format for standard output", hint="name one with --to-format, such as abc")
        return
    try:
        kind = formats.format_of(path)
    except FormatError as error:
        hint = f"{error.hint}; `tabterm render` writes audio"
        raise FormatError(error.message, place=error.place, hint=hint) from None
    if not kind.writes:
        raise StorageError(
            "this format can be read, not written", place=str(path), hint="choose another extension"
        )
    check_free(path, force=force)


def page(found: Piece, width: int | None = None, rows: Sequence[str] | None = None) -> str:
    """A piece as text tab, as wide as the terminal where no width is given."""
    from tabterm.formats.text import NARROWEST, WIDEST

    if width is None:
        width = min(max(shutil.get_terminal_size((80, 24)).columns, NARROWEST), WIDEST)
    return found.text(width=width, rows=rows)


def where(score: Score, place: Place) -> dict[str, object]:
    """A place as plain data: its measure as a player counts them, and its offset; None after the end."""
    if place.measure >= len(score.measures):
        return {"measure": None, "onset": None}
    from tabterm.score.place import display_number

    return {"measure": display_number(score, place.measure), "onset": str(place.offset)}
