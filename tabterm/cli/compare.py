"""`tabterm compare`: where an arrangement departs from the original line that it keeps."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli.scores import add_choice, opened
from tabterm.harmony.differences import difference_words, transposition_words
from tabterm.score.comparison import differences
from tabterm.score.place import describe

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print every note that departs from the original, and how many there are; always 0."""
    score = opened(arguments.file, arguments).score
    if not any(measure.source for measure in score.measures):
        print(f"{arguments.file}: there is no original line to compare with")
        return 0
    found = differences(score)
    for each in found:
        print(f"{arguments.file}: {describe(score, each.place)}: {difference_words(score, each)}")
    counts = Counter(each.kind for each in found)
    kinds = ", ".join(f"{count} {'note' if count == 1 else 'notes'} {kind}" for kind, count in counts.items())
    print(f"{arguments.file}: {transposition_words(score)}; {kinds or 'no note departs from it'}")
    return 0
