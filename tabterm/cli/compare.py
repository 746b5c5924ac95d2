"""`tabterm compare`: where an arrangement departs from the original line that it keeps."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from tabterm.cli.inputs import Answer, add_files, add_json, each
from tabterm.cli.scores import add_choice, add_measures, opened, where, within
from tabterm.harmony.differences import difference_words, transposition_words
from tabterm.score.comparison import differences
from tabterm.score.place import describe

if TYPE_CHECKING:
    import argparse

    from tabterm.score.comparison import Difference
    from tabterm.score.model import Score


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    add_json(parser)
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print every note that departs from the original, and how many there are; always 0."""
    return each(arguments, _compare, headed=False)


def _compare(arguments: argparse.Namespace) -> Answer:
    score = opened(arguments.file, arguments).score
    if not any(measure.source for measure in score.measures):
        if not arguments.json:
            print(f"{arguments.file}: no original line to compare with")
        return Answer(data=None)
    measures = within(score, arguments)
    found = [departs for departs in differences(score) if departs.place.measure in measures]
    if arguments.json:
        return Answer(data=[_as_data(score, departs) for departs in found])
    for departs in found:
        print(f"{arguments.file}: {describe(score, departs.place)}: {difference_words(score, departs)}")
    counts = Counter(departs.kind for departs in found)
    kinds = ", ".join(f"{count} {'note' if count == 1 else 'notes'} {kind}" for kind, count in counts.items())
    print(f"{arguments.file}: {transposition_words(score)}; {kinds or 'every note is the same'}")
    return Answer()


def _as_data(score: Score, departs: Difference) -> dict[str, object]:
    """A note that departs as plain data; pitches are MIDI note numbers, null where there is no note."""
    pitches = {"original": departs.written, "played": departs.played}
    return where(score, departs.place) | {
        "kind": departs.kind.value,
        **pitches,
        "words": difference_words(score, departs),
    }
