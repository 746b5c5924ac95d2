"""`tabterm play`: play a file, or some of its measures, once or to practise them."""

from __future__ import annotations

import os
import select
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.cli import hearing
from tabterm.cli.inputs import STDIN, Answer, add_files, each
from tabterm.cli.output import tell
from tabterm.cli.ports import WITHOUT
from tabterm.cli.scores import add_choice, add_measures, settings
from tabterm.errors import ScoreError, SoundError, StorageError
from tabterm.piece.practice import BEFORE_LOOPS, Ladder, Practice, PreRoll, caution_due
from tabterm.piece.practice_log import PracticeLog
from tabterm.piece.takes import Take
from tabterm.score.place import display_number
from tabterm.sound.outputs import FORMS, OutputKind, Wish
from tabterm.workspace.rehearsal import entry_of
from tabterm.workspace.transport import Transport

if TYPE_CHECKING:
    import argparse

    from tabterm.score.model import Score
    from tabterm.score.place import Span
    from tabterm.workspace.run import Run

LOOK_S = 0.02
"""How often the end is looked for."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    add_choice(parser)
    hearing.add_tempo(parser)
    hearing.add_how(parser, times="how many times to play it; 0: until Ctrl-C")
    hearing.add_parts(parser)
    parser.add_argument("--output", metavar="WHERE", help=f"{FORMS} (as configured)")
    practice = parser.add_argument_group("practising")
    practice.add_argument(
        "--ladder",
        metavar="LADDER",
        help="tempo ladder: 60:100:5x3 climbs from 60 to 100 percent in steps of 5, three turns each; "
        "72:104:4x3bpm is in beats a minute; 60:100:5 climbs when you press Enter; "
        "with --loop 0 the last rung repeats until Ctrl-C",
    )
    practice.add_argument(
        "--pre-roll",
        metavar="N",
        help="start earlier, by measures (1m) or beats (2b); 2b+: before every turn",
    )


def run(arguments: argparse.Namespace) -> int:
    """Play and wait for the end; Ctrl-C stops, which is no fault."""
    if arguments.loop < 0:
        raise ScoreError(f"cannot play {arguments.loop} times", hint="--loop 0 plays until Ctrl-C")
    try:
        return each(arguments, _play, headed=False)
    except KeyboardInterrupt:
        print()
        return 0


def _play(arguments: argparse.Namespace) -> Answer:
    piece, span = hearing.piece_of(arguments)
    score = piece.score
    found = settings(told=True)
    wish = Wish.parse(arguments.output or found.sound.output)
    transport = Transport(output=str(wish), practice=practice_of(arguments, score, span), manners=found.manners)
    transport.ended = lambda run: _enter(run, arguments.file)
    try:
        if wish.kind is OutputKind.VIRTUAL:
            _let_connect(transport)
        transport.play([Take(score, span)], arguments.loop)
        _follow(transport, f"{arguments.file}, {_measures(score, span)}")
    finally:
        transport.close()
    return Answer()


def practice_of(arguments: argparse.Namespace, score: Score, span: Span | None) -> Practice:
    """How it is to be played and practised; raises ScoreError for what makes no sense."""
    practice = hearing.practice_of(arguments, score, hearing.parts_of(arguments))
    return practice.with_(
        loop=arguments.loop == 0,
        tempo_percent=hearing.percent_of(arguments, score, span),
        ladder=Ladder.parse(arguments.ladder) if arguments.ladder else None,
        pre_roll=PreRoll.parse(arguments.pre_roll) if arguments.pre_roll else None,
    )


def _let_connect(transport: Transport) -> None:
    """Make a virtual port, and let the player connect a synthesiser to it before the music begins."""
    transport.outputs()  # answered when the port has been made
    if sys.stdin is not None and sys.stdin.isatty():
        input("connect a synthesiser to the new port and press Enter: ")


def _follow(transport: Transport, what: str) -> None:
    """Wait for the end, say once where it plays, and climb when told. Raises SoundError when it cannot."""
    playback, ladder = transport.warm_up(), transport.practice.ladder
    told, rung = False, -1
    listens = ladder is not None and ladder.turns is None and sys.stdin is not None
    ordered = transport.run
    if ordered is not None and ordered.again and caution_due():
        tell(BEFORE_LOOPS)
    while transport.run is not None:
        transport.look()
        if playback.started_s is not None and not told:
            climbs = ", Enter climbs" if listens else ""
            print(f"playing {what}, to {playback.output_name} (Ctrl-C stops{climbs})", flush=True)
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
    if playback.state == "failed":
        raise SoundError(playback.message, hint=playback.hint or WITHOUT)


def _tempo(run: Run) -> str:
    return f"{run.percent:.0f}%, {run.takes[0].tempo.per_minute * run.percent / 100:.0f} a minute"


def _enter(run: Run, file: Path) -> None:
    """Enter a loop in the practice log, but one of standard input; what hinders that is said, and is no fault."""
    if file == STDIN:
        return
    entry = entry_of(run, Path(os.path.realpath(file)))
    try:
        PracticeLog().add(*([entry] if entry else []))
    except StorageError as error:
        tell(f"tabterm: {error}")


def _measures(score: Score, span: Span | None) -> str:
    """What is played, in words."""
    if span is None:
        return "whole"
    first, last = display_number(score, span.start.measure), display_number(score, span.end.measure - 1)
    return f"measure {first}" if first == last else f"measures {first} to {last}"
