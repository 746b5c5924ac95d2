"""`tabterm pack`: a folder of files to practise with, at several tempos, with and without the solo."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli import hearing
from tabterm.cli.output import watched
from tabterm.errors import ScoreError, StorageError
from tabterm.formats.smf.writer import ascii_of
from tabterm.performance import Click, Part, perform
from tabterm.piece import audio
from tabterm.piece.takes import options_of
from tabterm.storage.whole import filling

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from tabterm.score.model import Score
    from tabterm.score.place import Span

MOST_DIGITS = 3
"""Of a percentage."""

TEMPOS = "60,70,80,90,100"
LONGEST_NAME = 60

CAUTION = (
    "Go up a tempo when the one below is easy, rest between, and stop when something hurts; keep the volume low."
)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    kinds = [ending[1:] for ending in audio.ENDINGS]
    hearing.add_what(parser)
    parser.add_argument("folder", type=Path, help="the folder to make")
    parser.add_argument("--tempos", default=TEMPOS, metavar="PCT,...", help=f"20 to 200 percent each ({TEMPOS})")
    parser.add_argument("--format", choices=kinds, default="mp3", help="kind of audio file (mp3)")
    hearing.add_how(parser, count_in=1, click=None)
    parser.add_argument("--force", action="store_true", help="put the files into a folder that is there")


def run(arguments: argparse.Namespace) -> int:
    """Render everything into a folder beside, which takes its name when all is there."""
    folder = arguments.folder
    if arguments.loop < 1:
        raise ScoreError(f"cannot play {arguments.loop} times", hint="a file ends: --loop 1 or more")
    if folder.exists() and not (folder.is_dir() and (arguments.force or not any(folder.iterdir()))):
        raise StorageError("it already exists", place=str(folder), hint="--force puts files into a folder")
    piece, span = hearing.piece_of(arguments)
    score = piece.score
    percents = percents_of(arguments.tempos)
    with filling(folder) as new:
        takes = list(_takes(arguments, score, span, percents, new))
        with watched(sum(take.frames for take in takes)) as watch:
            audio.write(takes, score.head.instrument, watch)
    for take in takes:
        print(folder / take.path.name)
    print(CAUTION)
    return 0


def percents_of(text: str) -> list[int]:
    """Percentages such as `60,80,100`, each once, the slowest first.

    Raises:
        ScoreError: The text is no list of whole numbers.
    """
    words = [word.strip().removesuffix("%") for word in text.split(",")]
    if not all(word.isdecimal() and word.isascii() and len(word) <= MOST_DIGITS for word in words):
        raise ScoreError(f"not tempos: '{text}'", hint="write percentages with commas between, such as 60,80,100")
    return sorted({int(word) for word in words})


def _takes(
    arguments: argparse.Namespace, score: Score, span: Span | None, percents: list[int], folder: Path
) -> Iterator[audio.AudioFile]:
    """At each tempo a file with the solo and one without."""
    practice = hearing.practice_of(arguments, score, "both")
    name = slug(" ".join(filter(None, (score.head.title or arguments.file.stem, audio.measures_of(score, span)))))
    number, count = 0, 2 * len(percents)
    for percent in percents:
        options = options_of(practice, percent, practice.count_in)
        performance = perform(score, span=span, options=options)
        if arguments.click is None and not any(pluck.part is Part.CHORDS for pluck in performance.plucks):
            performance = perform(score, span=span, options=replace(options, click=Click.BEATS))
        heard = frozenset(pluck.part for pluck in performance.plucks)
        for what, parts in (("solo", heard), ("backing", heard - {Part.SOLO})):
            number += 1
            tags = audio.tags_of(
                *(score, span, percent),
                what=what,
                album=f"{score.head.title or 'Untitled'}, to practise",
                tracknumber=str(number),
            )
            path = folder / f"{number:0{len(str(count))}d}-{name}-{percent:03d}-{what}.{arguments.format}"
            yield audio.AudioFile(path, performance, parts, arguments.loop, tags)


def slug(text: str) -> str:
    """A name for a file that any system takes and sorts: small letters, digits and hyphens."""
    words = re.sub(r"[^a-z0-9]+", "-", ascii_of(text).lower()).strip("-")
    return words[:LONGEST_NAME].strip("-") or "untitled"
