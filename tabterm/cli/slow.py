"""`tabterm slow`: write a recording, or a part of it, slower at its own pitch."""

from __future__ import annotations

import argparse

from tabterm.cli.output import tell, watched
from tabterm.cli.recordings import COPYRIGHT, add_out, add_part, add_recording, out_of
from tabterm.cli.scores import MOST_DIGITS
from tabterm.errors import FormatError
from tabterm.piece import slowing
from tabterm.piece.audio import ENDINGS, check_ending
from tabterm.piece.practice import BEFORE_LISTENING
from tabterm.sound.files import KINDS
from tabterm.storage.names import check_free


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_recording(parser)
    add_out(parser, f"the file to write; its ending names the kind: {', '.join(ENDINGS)}")
    add_part(parser)
    speeds = f"{slowing.SLOWEST}%% to {slowing.FASTEST}%% of its speed (50%%)"
    parser.add_argument("--tempo", type=_percent, default=50, metavar="PERCENT", help=speeds)
    parser.add_argument("--semitones", type=int, default=0, metavar="N", help="higher, or with a minus lower (0)")
    parser.add_argument("--cents", type=int, default=0, metavar="N", help="hundredths of a semitone besides (0)")


def _percent(text: str) -> int:
    """A percentage; a recording has no tempo that a number alone could name."""
    number = text.removesuffix("%")
    if number == text or not (number.isdecimal() and len(number) <= MOST_DIGITS):
        hint = f"write {number}%" if number.isdecimal() else "write 70%"
        raise argparse.ArgumentTypeError(f"not a percentage: '{text}' ({hint})")
    return int(number)


def run(arguments: argparse.Namespace) -> int:
    """Slow down and write."""
    out = out_of(arguments)
    if out is None:
        raise FormatError("no file to write", place=str(arguments.recording), hint="name it last, or after -o")
    check_ending(out)
    take = slowing.slowed(
        arguments.recording,
        start_s=arguments.start,
        end_s=arguments.end,
        percent=arguments.tempo,
        semitones=arguments.semitones,
        cents=arguments.cents,
    )
    check_free(out, force=arguments.force)
    with watched(take.frames) as watch:
        slowing.write(take, out, watch)
    print(f"{out}: {KINDS[out.suffix.lower()].name} written")
    tell(COPYRIGHT)
    print(BEFORE_LISTENING)
    return 0
