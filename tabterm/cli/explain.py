"""`tabterm explain`: a solo in a teacher's sentences, phrase by phrase.

With `--json` it prints one object. Places are `measure`, as a player counts them, and `onset` in quarters as a
fraction; both are null at the end of the score.

* `key`: `written`, and `guesses` (`key`, `points`, `reasons`), the likeliest first.
* `regions`: `from` and `to` (numbers of measures), `key`, `written`, `modulation`.
* `overview`: what is said of the whole.
* `phrases`: `from`, `to` (exclusive), `sentences`; `chords` (`at`, `symbol`, `roman`, `number`, `role`, `goal`),
  `moves` (`name`, `chords`, `romans`, `from`, `to`), `pools` (`name`, `share`, `outside`: `at`, `name`, `class`),
  `contour`, `rhythm` or "", `lowest`, `highest`, `targets` (`at`, `name`, `degree`, `chord`, `class`).
* `proposals`, where there are no chord symbols: for each measure `chords` (`symbol`, `roman`, `points`
  behind the first, `reasons`) and its number, `measure`.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from tabterm.cli.inputs import Answer, add_files, add_json, each
from tabterm.cli.scores import add_choice, add_measures, opened, where
from tabterm.errors import ScoreError
from tabterm.harmony.explaining import explained, listed, overview
from tabterm.harmony.harmonising import proposals
from tabterm.harmony.keys import key_guesses, regions
from tabterm.harmony.progression import sounding_chords
from tabterm.instrument import pitch_name
from tabterm.piece.piece import span_of
from tabterm.score.place import count_name, display_number, lead_in

if TYPE_CHECKING:
    import argparse

    from tabterm.harmony.explaining import Explained
    from tabterm.harmony.harmonising import ChordProposal
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

WIDTH = 78
"""Characters of a line."""

BEST = 3
"""Proposals for a measure that are printed, and pools."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    add_json(parser)
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print what a teacher says of each phrase of each file."""
    return each(arguments, _explain)


def _explain(arguments: argparse.Namespace) -> Answer:
    score = opened(arguments.file, arguments).score
    span = span_of(score, arguments.first, arguments.last)
    found = explained(score, span)
    if not found:
        raise ScoreError("no notes here", place=str(arguments.file), hint="write some notes first")
    proposed = () if sounding_chords(score) else proposals(score)
    if arguments.json:
        return Answer(data=_data(score, found, proposed))
    title = score.head.title or arguments.file.name
    print(*textwrap.wrap(" ".join([f"{title}.", *overview(score)]), WIDTH), sep="\n")
    for phrase in found:
        print(f"\n{heading(score, phrase.phrase.span)}")
        words = " ".join(phrase.sentences)
        print(textwrap.fill(words, WIDTH, initial_indent="  ", subsequent_indent="  "))
    if proposed:
        print("\nNo chord symbols yet. These would fit:")
        for index, ranked in enumerate(proposed):
            print(f"  measure {display_number(score, index)}: {_in_words(ranked)}")
    return Answer()


def heading(score: Score, span: Span) -> str:
    """The measures of a phrase: `Measures 5 to 8`, `Pickup to measure 4`, `Measure 4, beat 4, to measure 8`."""
    first = display_number(score, span.start.measure)
    last = display_number(score, span.end.measure - (span.end.offset == 0))
    measures, index = score.measures, span.start.measure
    leads_in = not span.start.offset and lead_in(score, index) > 0
    section = measures[index + leads_in].section if index + leads_in < len(measures) else ""
    if span.start.offset:
        words = f"Measure {first}, beat {count_name(score, span.start)}, to measure {last}"
    elif leads_in and last > first:
        words = f"Pickup to measure {last}" if not index else f"Pickup (measure {first}) to measure {last}"
    else:
        words = f"Measures {first} to {last}" if last > first else f"Measure {first}"
    return f"{words} (section {section})" if section else words


def _in_words(ranked: tuple[ChordProposal, ...]) -> str:
    first, *others = ranked[:BEST]
    return f"{first.symbol} ({', '.join(first.reasons)}), or {listed([one.symbol for one in others])}"


# Data


def _data(
    score: Score, found: tuple[Explained, ...], proposed: tuple[tuple[ChordProposal, ...], ...]
) -> dict[str, object]:
    guesses = key_guesses(score)[:BEST]
    return {
        "title": score.head.title,
        "key": {
            "written": str(score.head.key),
            "guesses": [
                {"key": str(one.key), "points": round(one.points, 3), "reasons": one.reasons} for one in guesses
            ],
        },
        "regions": [
            {
                "from": display_number(score, one.first),
                "to": display_number(score, one.last),
                "key": str(one.key),
                "written": str(one.written),
                "modulation": one.is_modulation,
            }
            for one in regions(score)
        ],
        "overview": overview(score),
        "phrases": [_phrase(score, one) for one in found],
        "proposals": [
            {
                "measure": display_number(score, index),
                "chords": [
                    {"symbol": one.symbol, "roman": one.roman, "points": one.points, "reasons": one.reasons}
                    for one in ranked
                ],
            }
            for index, ranked in enumerate(proposed)
        ],
    }


def _phrase(score: Score, one: Explained) -> dict[str, object]:
    phrase = one.phrase

    def at(place: Place) -> dict[str, object]:
        return where(score, place)

    return {
        "from": at(phrase.span.start),
        "to": at(phrase.span.end),
        "sentences": one.sentences,
        "chords": [
            {
                "at": at(chord.place),
                "symbol": chord.symbol,
                "roman": function.roman,
                "number": function.number,
                "role": function.role,
                "goal": function.goal,
            }
            for chord, function in zip(one.chords, one.functions, strict=True)
        ],
        "moves": [
            {
                "name": move.name,
                "chords": move.chords,
                "romans": move.romans,
                "from": at(move.span.start),
                "to": at(move.span.end),
            }
            for move in one.moves
        ],
        "pools": [
            {
                "name": pool.name,
                "share": round(pool.share, 3),
                "outside": [
                    {"at": at(stray.place), "name": stray.name, "class": stray.kind} for stray in pool.outside
                ],
            }
            for pool in phrase.pools[:BEST]
        ],
        "contour": phrase.contour,
        "rhythm": phrase.rhythm,
        "lowest": pitch_name(phrase.lowest),
        "highest": pitch_name(phrase.highest),
        "targets": [
            {
                "at": at(target.place),
                "name": target.standing.name,
                "degree": target.standing.to_chord,
                "chord": target.symbol,
                "class": target.standing.kind,
            }
            for target in phrase.targets
        ],
    }
