"""`tabterm dyads`: the double stops of a chord or a scale that you can hold, or those of a solo.

With `--json` it prints one object: `pool`, `instrument`, and `dyads`, each with `courses` and `frets` (the lower
course first), `notes`, `degrees`, `interval`, `shape` and `fingers`. With `--file` it has
`double_stops`: `at` (measure and onset), the same but for fingers, `chord`, and `move` from the one before.
"""

from __future__ import annotations

import re
from argparse import ArgumentTypeError
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import Answer, add_json, add_kind, each
from tabterm.cli.scores import add_measures, mine, opened, where, within
from tabterm.errors import ScoreError
from tabterm.hand.double_stops import playable
from tabterm.hand.neck import neck_of
from tabterm.harmony.dyads import degrees, placed_dyads
from tabterm.harmony.pools import pool_named
from tabterm.instrument import pitch_name, preset
from tabterm.score.model import Head
from tabterm.score.place import Place, Span, describe

if TYPE_CHECKING:
    import argparse

    from tabterm.hand.double_stops import PlayableDyad
    from tabterm.harmony.dyads import Dyad, PlacedDyad
    from tabterm.harmony.pools import Pool
    from tabterm.score.model import Score

HIGHEST = 12
"""The highest fret where none is said."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("pool", nargs="*", help="a chord or a scale: D7, or G major pentatonic")
    parser.add_argument(
        "--file",
        dest="files",
        type=Path,
        nargs="+",
        default=[],
        metavar="FILE",
        help="list the double stops in these scores",
    )
    add_measures(parser)
    add_kind(parser)
    parser.add_argument("--instrument", metavar="WORD", help="octave-mandolin, mandola ... (mandolin)")
    parser.add_argument(
        "--frets", type=fret_range, default=(0, HIGHEST), metavar="A-B", help="frets to search (0-12)"
    )
    parser.add_argument(
        "--degrees", type=_degrees, metavar="A-B", help="only these degrees, the lower course first, such as 3-1"
    )
    parser.add_argument("--over", action="store_true", help="on two courses with a muted one between them")
    add_json(parser)


def _degrees(text: str) -> str:
    """Two degrees, `3-1` or `b7-#4`."""
    if not re.fullmatch(r"[#b]{0,2}[1-9]\d?-[#b]{0,2}[1-9]\d?", text, re.ASCII):
        raise ArgumentTypeError(f"not two degrees: '{text}' (write 3-1)")
    return text


def fret_range(text: str) -> tuple[int, int]:
    """`2-7`, or one fret."""
    match = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?", text)
    if match is None or int(match[2] or match[1]) < int(match[1]):
        raise ArgumentTypeError(f"not frets: '{text}' (write 0-12 or 5)")
    return int(match[1]), int(match[2] or match[1])


def run(arguments: argparse.Namespace) -> int:
    """Print the double stops."""
    if bool(arguments.files) == bool(arguments.pool):
        raise ScoreError("no chord or scale named", hint="write tabterm dyads D7, or tabterm dyads --file FILE")
    if arguments.files:
        return each(arguments, _of_file)
    pool, instrument = pool_named(" ".join(arguments.pool)), preset(arguments.instrument or "mandolin")
    lowest, highest = arguments.frets
    neck = neck_of(Head(instrument=instrument), mine())
    found = playable(neck, pool, lowest=lowest, highest=highest, apart=2 if arguments.over else 1)
    found = tuple(one for one in found if arguments.degrees in {None, degrees(one.dyad, pool)})
    if arguments.json:
        listed = [_pair(one.dyad) | {"degrees": degrees(one.dyad, pool), "fingers": one.fingers} for one in found]
        data = {"pool": pool.name, "instrument": instrument.name, "dyads": listed}
        print(printable.as_json(data, indent=2))
        return 0
    print(f"{pool.name} on the {instrument.name}, frets {lowest} to {highest}; the lower course comes first")
    if not found:
        print("nothing you can hold without strain")
    letters = instrument.course_letters()
    for (low, high), group in groupby(found, key=lambda one: (one.dyad.low[0], one.dyad.high[0])):
        print(f"\n{letters[low - 1].upper()} and {letters[high - 1].upper()}")
        print("  frets  degrees  notes    interval          shape                fingers")
        for one in group:
            print("  " + _line(one, pool).rstrip())
    return 0


def _line(each: PlayableDyad, pool: Pool) -> str:
    pair = each.dyad
    notes = "-".join(map(pitch_name, pair.pitches))
    fingers = "-".join(map(str, each.fingers))
    return f"{pair!s:<6} {degrees(pair, pool):<8} {notes:<8} {pair.family:<17} {pair.shape:<20} {fingers}"


def _of_file(arguments: argparse.Namespace) -> Answer:
    score = opened(arguments.file, arguments).score
    measures = within(score, arguments)
    found = placed_dyads(score, Span(Place(measures.start), Place(measures.stop)))
    if arguments.json:
        return Answer(data={"double_stops": [_placed(score, one) for one in found]})
    if not found:
        print("no double stops")
    for one in found:
        letters = score.head.instrument.course_letters()
        courses = "".join(letters[course - 1].upper() for course, _ in (one.dyad.low, one.dyad.high))
        over = f" of {one.symbol}" if one.symbol else ""
        move = f"; {one.move}" if one.move else ""
        print(
            f"{describe(score, one.place)}: {courses} {one.dyad}, {one.degrees}{over}, {one.dyad.family}, "
            f"{one.dyad.shape}{move}"
        )
    return Answer()


# Data


def _pair(pair: Dyad) -> dict[str, object]:
    return {
        "courses": [pair.low[0], pair.high[0]],
        "frets": [pair.low[1], pair.high[1]],
        "notes": [pitch_name(pitch) for pitch in pair.pitches],
        "interval": pair.family,
        "shape": pair.shape,
    }


def _placed(score: Score, each: PlacedDyad) -> dict[str, object]:
    return (
        {"at": where(score, each.place)}
        | _pair(each.dyad)
        | {
            "degrees": each.degrees,
            "chord": each.symbol,
            "move": each.move,
        }
    )
