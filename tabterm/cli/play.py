"""`tabterm play`: play a file, or some of its measures, once or to practise them."""

from __future__ import annotations

import os
import select
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli.band import configure as configure_band
from tabterm.cli.band import options_of
from tabterm.cli.ports import WITHOUT
from tabterm.errors import ScoreError, SoundError, StorageError
from tabterm.hand.strokes import with_proposals
from tabterm.performance import AS_WRITTEN, SOLO_ALONE
from tabterm.score.place import Span, display_number, measure_index
from tabterm.sound.outputs import FORMS, Kind, Wish
from tabterm.workspace import cautions, configuration
from tabterm.workspace.ladder import Ladder, check_percent
from tabterm.workspace.practice import CLICKS, Practice, PreRoll
from tabterm.workspace.practice_log import PracticeLog
from tabterm.workspace.rehearsal import entry_of
from tabterm.workspace.takes import Take
from tabterm.workspace.transport import Transport

if TYPE_CHECKING:
    import argparse

    from tabterm.score.model import Score
    from tabterm.workspace.run import Run

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
    parser.add_argument("--click", default="off", choices=CLICKS, help="where it clicks (off)")
    configure_band(parser)
    parser.add_argument("--mute-tab", action="store_true", help="chords and bass alone, to play the solo oneself")
    parser.add_argument("--output", metavar="WHERE", help=f"{FORMS} (as configured)")
    practice = parser.add_argument_group("practising")
    practice.add_argument(
        "--ladder",
        metavar="LADDER",
        help="climb in tempo: 60:100:5x3 goes from 60 to 100 percent in steps of 5, three turns on each; "
        "72:104:4x3bpm counts in beats a minute; 60:100:5 climbs when you press Enter; "
        "with --loop 0 the last rung goes on until Ctrl-C",
    )
    practice.add_argument(
        "--pre-roll", metavar="N", help="what leads in: 1m, 2b (measures, beats); 2b+ before every turn"
    )
    practice.add_argument(
        "--click-rests",
        nargs=2,
        type=int,
        metavar=("ON", "OFF"),
        help="the click sounds for so many measures and rests for so many",
    )


def run(arguments: argparse.Namespace) -> int:
    """Play and wait for the end; Ctrl-C stops, which is no fault."""
    if arguments.loop < 0:
        raise ScoreError(f"cannot play {arguments.loop} times", hint="--loop 0 goes on until Ctrl-C")
    score = with_proposals(formats.read(arguments.file).score)
    span = span_of(score, arguments.first, arguments.last)
    wish = Wish.parse(arguments.output or configuration.load().sound.output)
    transport = Transport(output=str(wish), practice=_practice(arguments, score))
    transport.ended = lambda run: _enter(run, arguments.file)
    try:
        if wish.kind is Kind.VIRTUAL:
            _let_connect(transport)
        transport.play([Take(score, span)], arguments.loop)
        _follow(transport, f"{arguments.file}, {_measures(score, span)}")
    except KeyboardInterrupt:
        print()
    finally:
        transport.close()
    return 0


def _practice(arguments: argparse.Namespace, score: Score) -> Practice:
    """How it is to be played; raises ScoreError for numbers that make no sense."""
    check_percent(arguments.tempo)
    arguments.chords |= arguments.mute_tab
    band = options_of(arguments, score)
    solo, swing = band["parts"] == SOLO_ALONE, band["swing"]
    return Practice(
        loop=arguments.loop == 0,
        tempo_percent=arguments.tempo,
        ladder=Ladder.parse(arguments.ladder) if arguments.ladder else None,
        count_in=arguments.count_in,
        click=arguments.click,
        click_rests=tuple(arguments.click_rests) if arguments.click_rests else None,
        pre_roll=PreRoll.parse(arguments.pre_roll) if arguments.pre_roll else None,
        parts="solo" if solo else "chords" if arguments.mute_tab else "both",
        style=band["style"],
        groove=band["groove"],
        swing="written" if swing is AS_WRITTEN else swing or "straight",
    )


def _let_connect(transport: Transport) -> None:
    """Make a virtual port, and let the player connect a synthesiser to it before the music begins."""
    transport.outputs()  # answered when the port has been made
    if sys.stdin.isatty():
        input("connect a synthesiser to the new port and press Enter: ")


def _follow(transport: Transport, what: str) -> None:
    """Wait for the end, say once where it plays, and climb when told. Raises SoundError when it cannot."""
    player, ladder = transport.warm_up(), transport.practice.ladder
    told, rung = False, -1
    listens = ladder is not None and ladder.turns is None
    ordered = transport.run
    if ordered is not None and ordered.again and cautions.due():
        print(cautions.BEFORE_LOOPS, file=sys.stderr)
    while transport.run is not None:
        transport.look()
        if player.started_s is not None and not told:
            climbs = ", Enter climbs" if listens else ""
            print(f"playing {what}, to {player.output_name} (Ctrl-C stops{climbs})", flush=True)
            told = True
        if told and ladder is not None and rung != transport.rung and (run := transport.run) is not None:
            rung = transport.rung
            print(f"rung {rung + 1} of {len(run.rungs)}: {_tempo(run)}", flush=True)
        if not listens:
            time.sleep(LOOK_S)
        elif select.select([sys.stdin], [], [], LOOK_S)[0]:
            listens = sys.stdin.readline() != ""
            if listens and (run := transport.run) is not None:
                transport.climb(1, run.takes[0].tempo)
    if player.state == "failed":
        raise SoundError(player.message, hint=player.hint or WITHOUT)


def _tempo(run: Run) -> str:
    return f"{run.percent:.0f} %, {run.takes[0].tempo.per_minute * run.percent / 100:.0f} a minute"


def _enter(run: Run, file: Path) -> None:
    """Enter a loop in the practice log; what hinders that is said, and is no fault."""
    entry = entry_of(run, Path(os.path.realpath(file)))
    try:
        PracticeLog().add(*([entry] if entry else []))
    except StorageError as error:
        print(f"tabterm: {error}", file=sys.stderr)


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
