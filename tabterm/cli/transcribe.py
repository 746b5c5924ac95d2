"""`tabterm transcribe`: listen to a recording, and propose its solo as a tab."""

from __future__ import annotations

import argparse
import math
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm import formats, printable
from tabterm.cli.inputs import STDIN, ending
from tabterm.cli.output import tell, watched
from tabterm.cli.recordings import COPYRIGHT, add_out, add_part, add_recording, out_of, recording_in, seconds
from tabterm.cli.scores import check_out, mine, tell_written, write
from tabterm.errors import FormatError, ScoreError
from tabterm.piece.slowing import MOST_CENTS
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.piece.transcription import Passage

STEPS = 1000
"""Of the bar that shows how far the work is."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_recording(parser)
    add_out(parser, "the file to write; its extension sets the format", ending)
    add_part(parser)
    parser.add_argument("--tempo", metavar="TEMPO", type=_tempo, help="beats a minute, or 1/4=96, if you know it")
    parser.add_argument("--metre", metavar="METRE", default=str(COMMON_TIME), help="such as 3/4 or 6/8 (4/4)")
    parser.add_argument(
        "--downbeat", metavar="S", type=seconds, help="time of the first beat of a measure, in seconds"
    )
    parser.add_argument(
        "--taps",
        metavar="S,S,...",
        type=_taps,
        default=(),
        help="times of the beats, in seconds, starting with the first beat of a measure",
    )
    parser.add_argument("--grid", metavar="GRID", help="note values to use, such as 8 or 16+8t")
    parser.add_argument("--pickup", metavar="QUARTERS", help="length of the pickup, such as 1 or 1/2 (0: none)")
    parser.add_argument("--instrument", metavar="WORD", help="fit the music to this instrument (mandolin)")
    parser.add_argument("--key", metavar="KEY", help="fit it in this key; easiest: in the easiest key")
    parser.add_argument(
        "--tuning", metavar="CENTS", type=_cents, help="its tuning in cents above A4 = 440 Hz (estimated)"
    )
    parser.add_argument("--chords", action="store_true", help="with --json: print the chord of each beat instead")
    parser.add_argument("--json", action="store_true", help="print what was heard, before any rhythm or fitting")
    parser.add_argument(
        "--report", action="store_true", help="list every uncertain note, and what else it could be"
    )


def _tempo(text: str) -> float | Tempo:
    """Beats of the metre in a minute, or a tempo that names what it counts."""
    try:
        if "=" in text:
            return Tempo.parse(text)
        beats = float(text)
    except (ScoreError, ValueError):
        beats = 0.0
    if not SLOWEST <= beats <= FASTEST:
        raise argparse.ArgumentTypeError(
            f"not a tempo: {printable.number(text)} (write beats a minute, {SLOWEST:g} to {FASTEST:g}, or 1/4=96)"
        )
    return beats


def _bpm(tempo: float | Tempo | None, metre: Metre) -> float | None:
    """Beats of the metre in a minute; raises FormatError where they are too slow or too fast to be heard."""
    if not isinstance(tempo, Tempo):
        return tempo
    beats = tempo.quarters_per_minute * len(metre.beats) / float(metre.length)
    if not SLOWEST <= beats <= FASTEST:
        raise FormatError(
            f"{tempo} is {beats:g} beats a minute in {metre}", hint=f"use {SLOWEST:g} to {FASTEST:g} beats"
        )
    return beats


def _taps(text: str) -> tuple[float, ...]:
    taps = tuple(seconds(word) for word in text.split(","))
    if len(taps) < 2:
        raise argparse.ArgumentTypeError(
            f"only one tap: '{text}' (write two or more times in seconds, such as 12.5,13.0)"
        )
    return taps


def _cents(text: str) -> float:
    try:
        cents = float(text)
    except ValueError:
        cents = math.inf
    if not abs(cents) <= MOST_CENTS:
        raise argparse.ArgumentTypeError(f"not a tuning: '{text}' (write cents, -{MOST_CENTS} to {MOST_CENTS})")
    return cents


def run(arguments: argparse.Namespace) -> int:
    """Listen, propose, write, and tell what is not sure."""
    arguments.out = out_of(arguments)
    if arguments.out is None and not arguments.json:
        raise FormatError("no file to write", hint="name one, such as solo.tabterm, or ask for --json")
    check_out(arguments.out, force=arguments.force, to_format=arguments.to_format)
    with recording_in(arguments) as recording:
        return _write(_heard(recording, arguments), arguments)


def _write(passage: Passage, arguments: argparse.Namespace) -> int:
    from tabterm.piece.transcription import transcribed

    if arguments.json:
        print(printable.as_json((_chords if arguments.chords else _notes)(passage), indent=2))
    if arguments.out is None:
        return 0
    said = {name: getattr(arguments, name) for name in ("instrument", "key", "grid", "pickup")}
    piece = transcribed(
        passage, mine(), **{name: word for name, word in said.items() if word is not None}
    ).fingered()
    is_piped = arguments.out == STDIN
    reports = arguments.report and not arguments.json and not is_piped
    for line in piece.report.lines(piece.score, arguments.recording, details=arguments.report):
        (print if reports else tell)(line)
    write(piece, arguments.out, report=reports, to_format=arguments.to_format)
    tell(COPYRIGHT)
    if not is_piped and not arguments.json:
        tell_written(arguments.out, formats.format_of(arguments.out).name)
    return 0


def _heard(recording: Path, arguments: argparse.Namespace) -> Passage:
    from tabterm.piece.transcription import heard

    metre = Metre.parse(arguments.metre)
    bpm = _bpm(arguments.tempo, metre)
    with watched(STEPS) as watch:
        done = 0

        def progress(share: float) -> bool:
            nonlocal done
            watch(round(share * STEPS) - done)
            done = round(share * STEPS)
            return True

        return heard(
            recording,
            start_s=arguments.start,
            end_s=arguments.end,
            bpm=bpm,
            metre=metre,
            downbeat_s=arguments.downbeat,
            taps_s=arguments.taps,
            cents=arguments.tuning,
            progress=progress,
        )


def _notes(passage: Passage) -> list[dict[str, object]]:
    """Each note: seconds of the recording, MIDI pitch, how sure it is (0 to 1), and what else it could be."""
    return [
        {
            "onset_s": round(note.onset_s, 4),
            "end_s": round(note.end_s, 4),
            "pitch": note.pitch,
            "sure": round(note.sure, 3),
            "others": list(note.others),
            "way": str(note.way),
            "bend_cents": note.bend_cents,
        }
        for note in passage.notes
    ]


def _chords(passage: Passage) -> list[dict[str, object]]:
    """Each beat: seconds of the recording, the chord symbol ("" for silence), and how sure it is (0 to 1)."""
    return [
        {"onset_s": round(start, 4), "end_s": round(end, 4), "symbol": chord.symbol, "sure": round(chord.sure, 3)}
        for chord, (start, end) in zip(passage.chords, pairwise(passage.beats.moments_s), strict=True)
    ]
