"""The band on the command line: arguments that several commands share, and what they mean."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING, TypedDict

from tabterm.errors import ScoreError
from tabterm.harmony.progression import unknown_chords
from tabterm.performance import ALL_PARTS, AS_WRITTEN, SOLO_ALONE
from tabterm.performance.styles import STYLES
from tabterm.score.model import Swing
from tabterm.score.place import describe

if TYPE_CHECKING:
    import argparse

    from tabterm.performance import Part
    from tabterm.performance.model import AsWritten
    from tabterm.score.model import Score

_SWING = re.compile(r"^(?:(8|16) )?([1-9]\d?):([1-9]\d?)$")


class BandOptions(TypedDict):
    """Fields of `performance.Options` that the arguments set."""

    parts: frozenset[Part]
    style: str | None
    groove: bool
    swing: Swing | AsWritten | None


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("--chords", action="store_true", help="with chords and bass for the chord symbols")
    parser.add_argument("--style", choices=tuple(STYLES), help="how chords and bass play (by metre and swing)")
    parser.add_argument("--no-groove", action="store_true", help="chords and bass without accents, on the grid")
    parser.add_argument("--swing", metavar="LONG:SHORT", help="swing 2:1 or '16 3:2', or off (as written)")


def options_of(arguments: argparse.Namespace, score: Score) -> BandOptions:
    """What the arguments ask for; a style asks for the band. Says which chord symbols will be silent.

    Raises:
        ScoreError: The swing is none.
    """
    band = arguments.chords or arguments.style is not None
    for place, symbol in unknown_chords(score) if band else ():
        where = describe(score, place)
        print(f"tabterm: {where}: the chord '{symbol}' is not understood (silent there)", file=sys.stderr)
    return BandOptions(
        parts=ALL_PARTS if band else SOLO_ALONE,
        style=arguments.style,
        groove=not arguments.no_groove,
        swing=AS_WRITTEN if arguments.swing is None else swing_of(arguments.swing),
    )


def swing_of(text: str) -> Swing | None:
    """A swing such as `2:1` (of eighths) or `16 3:2`; `off` is none. Raises ScoreError for anything else."""
    if text == "off":
        return None
    match = _SWING.match(text)
    if match is None:
        raise ScoreError(f"'{text}' is no swing", hint="write 2:1, '16 3:2' for sixteenths, or off")
    unit, long, short = match.groups()
    return Swing(unit=int(unit or 8), long=int(long), short=int(short))
