"""`tabterm play`: play a file, or some of its measures."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.band import configure as configure_band
from tabterm.cli.band import options_of
from tabterm.cli.ports import WITHOUT
from tabterm.errors import ScoreError, SoundError
from tabterm.hand.strokes import with_proposals
from tabterm.performance import Click, Options, perform
from tabterm.score.place import Span, display_number, measure_index
from tabterm.sound.outputs import FORMS, Kind, Wish
from tabterm.sound.player import Player
from tabterm.sound.remote.call import reach
from tabterm.workspace import configuration

if TYPE_CHECKING:
    import argparse

    from tabterm.score.model import Score

LOOK_S = 0.02
"""How often the end is looked for."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("--from", dest="first", type=int, metavar="M", help="first measure, by its number")
    parser.add_argument("--to", dest="last", type=int, metavar="M", help="last measure, by its number")
    parser.add_argument("--tempo", type=int, default=100, metavar="PCT", help="20 to 200 percent (100)")
    parser.add_argument("--loop", type=int, default=1, metavar="N", help="times to play it, 0: until Ctrl-C (1)")
    parser.add_argument("--count-in", type=int, default=0, choices=(0, 1, 2), help="measures counted before (0)")
    parser.add_argument(
        "--click", type=Click, default=Click.OFF, choices=tuple(Click), help="where it clicks (off)"
    )
    configure_band(parser)
    parser.add_argument("--output", metavar="WHERE", help=f"{FORMS} (as configured)")


def run(arguments: argparse.Namespace) -> int:
    """Play and wait for the end; Ctrl-C stops, which is no fault."""
    if arguments.loop < 0:
        raise ScoreError(f"cannot play {arguments.loop} times", hint="--loop 0 goes on until Ctrl-C")
    score = with_proposals(formats.read(arguments.file).score)
    span = span_of(score, arguments.first, arguments.last)
    band = options_of(arguments, score)
    options = Options(arguments.tempo, arguments.count_in, arguments.click, **band)
    performance = perform(score, span=span, options=options)
    wish = Wish.parse(arguments.output or configuration.load().sound.output)
    player = Player(wish, reach_listener=reach)
    try:
        if wish.kind is Kind.VIRTUAL:
            _let_connect(player)
        player.play(performance, loop=arguments.loop)
        _follow(player, f"{arguments.file}, {_measures(score, span)}")
    except KeyboardInterrupt:
        print()
    finally:
        player.close()
    return 0


def _let_connect(player: Player) -> None:
    """Make a virtual port, and let the player connect a synthesiser to it before the music begins."""
    player.start()
    player.outputs()  # answered when the port has been made
    if sys.stdin.isatty():
        input("connect a synthesiser to the new port and press Enter: ")


def _follow(player: Player, what: str) -> None:
    """Wait for the end; say once where it plays. Raises SoundError when it cannot."""
    told = False
    while player.state == "playing":
        if player.started_s is not None and not told:
            print(f"playing {what}, to {player.output_name} (Ctrl-C stops)", flush=True)
            told = True
        time.sleep(LOOK_S)
    if player.state == "failed":
        raise SoundError(player.message, hint=player.hint or WITHOUT)


def _measures(score: Score, span: Span | None) -> str:
    """What is played, in words."""
    if span is None:
        return "whole"
    first, last = display_number(score, span.start.measure), display_number(score, span.end.measure - 1)
    return f"measure {first}" if first == last else f"measures {first} to {last}"


def span_of(score: Score, first: int | None, last: int | None) -> Span | None:
    """The measures between two players' numbers, both included; None for the whole score.

    Raises:
        ScoreError: There is no such measure, or the last stands before the first.
    """
    if first is None and last is None:
        return None
    lowest, highest = display_number(score, 0), display_number(score, len(score.measures) - 1)
    indices = []
    for number in (lowest if first is None else first, highest if last is None else last):
        index = measure_index(score, number)
        if index is None:
            raise ScoreError(f"there is no measure {number}", hint=f"{lowest} to {highest}")
        indices.append(index)
    if indices[0] > indices[1]:
        raise ScoreError("the last measure stands before the first", hint="--from is the smaller number")
    return Span.of_measures(*indices)
