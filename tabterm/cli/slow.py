"""`tabterm slow`: write a recording, or a part of it, slower at its own pitch."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tabterm.cli.inputs import STDIN, add_json
from tabterm.cli.output import tell, watched
from tabterm.cli.recordings import (
    COPYRIGHT,
    add_out,
    add_part,
    add_recording,
    audio_kind,
    audio_out,
    out_of,
    recording_in,
)
from tabterm.cli.scores import MOST_DIGITS, tell_files
from tabterm.errors import FormatError
from tabterm.piece import slowing
from tabterm.piece.audio import ENDINGS, check_ending
from tabterm.piece.practice import BEFORE_LISTENING
from tabterm.score.record_mix import HIGHEST_HZ, RecordMix, Side
from tabterm.sound.files import KINDS
from tabterm.storage.names import check_free

if TYPE_CHECKING:
    from pathlib import Path


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_recording(parser)
    add_out(parser, f"the file to write; its extension sets the format: {', '.join(ENDINGS)}", audio_kind)
    add_part(parser)
    add_json(parser)
    speeds = f"{slowing.SLOWEST}%% to {slowing.FASTEST}%% of its speed (50%%)"
    parser.add_argument("--tempo", type=_percent, default=50, metavar="PERCENT", help=speeds)
    parser.add_argument(
        "--semitones", type=int, default=0, metavar="N", help="raise the pitch, or lower it with a minus (0)"
    )
    parser.add_argument(
        "--cents",
        type=int,
        default=0,
        metavar="N",
        help="cents (hundredths of a semitone) added to --semitones (0)",
    )
    parser.add_argument(
        "--in-tune", action="store_true", help="retune it to A4 = 440 Hz (its own tuning is estimated)"
    )
    sides = "which side of the stereo sound; centre: what both channels share, sides: what differs"
    parser.add_argument("--side", choices=[*Side], default=Side.BOTH, type=Side, help=sides)
    parser.add_argument("--balance", type=int, default=0, metavar="N", help="-100 (left only) to 100 (right only)")
    parser.add_argument(
        "--register", type=_register, metavar="HZ-HZ", help="bring these frequencies out, such as 190-1400"
    )


def _percent(text: str) -> int:
    """A percentage; a recording has no tempo that a number alone could name."""
    number = text.removesuffix("%")
    if number == text or not (number.isdecimal() and len(number) <= MOST_DIGITS):
        hint = f"write {number}%" if number.isdecimal() else "write 70%"
        raise argparse.ArgumentTypeError(f"not a percentage: '{text}' ({hint})")
    return int(number)


def _register(text: str) -> tuple[float, float]:
    low, _, high = text.partition("-")
    try:
        edges = float(low), float(high)
    except ValueError:
        edges = 0.0, 0.0
    if not 0 <= edges[0] < edges[1] <= HIGHEST_HZ:
        raise argparse.ArgumentTypeError(f"not a register: '{text}' (write Hz from and to, such as 190-1400)")
    return edges


def run(arguments: argparse.Namespace) -> int:
    """Slow down and write."""
    out = out_of(arguments)
    if out is None:
        raise FormatError("no file to write", place=str(arguments.recording), hint="name it last, or after -o")
    with audio_out(out, arguments.to_format) as path, recording_in(arguments) as recording:
        check_ending(path)
        return _write(recording, path, arguments)


def _write(recording: Path, out: Path, arguments: argparse.Namespace) -> int:
    take = slowing.slowed(
        recording,
        start_s=arguments.start,
        end_s=arguments.end,
        percent=arguments.tempo,
        semitones=arguments.semitones,
        cents=arguments.cents,
        in_tune=arguments.in_tune,
        mix=RecordMix(arguments.side, arguments.balance, arguments.register),
    )
    tuned = [f"tuned {take.off_cents:+.0f} cents off A4 = 440 Hz: retuned"] if arguments.in_tune else []
    for line in tuned:
        tell(line)
    check_free(out, force=arguments.force)
    with watched(take.frames) as watch:
        slowing.write(take, out, watch)
    tell(COPYRIGHT)
    is_piped = STDIN in (arguments.out, arguments.named)
    if not is_piped:
        tell_files([out], KINDS[out.suffix.lower()].name, tuned, as_data=arguments.json)
    if not arguments.json:
        (tell if is_piped else print)(BEFORE_LISTENING)
    return 0
