"""`tabterm render`: write what is heard into a file, audio or MIDI."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli import audio
from tabterm.cli.band import configure as configure_band
from tabterm.cli.band import options_of
from tabterm.cli.play import span_of
from tabterm.cli.scores import check_free, read_score
from tabterm.errors import FormatError, ScoreError
from tabterm.hand.strokes import with_proposals
from tabterm.performance import Click, Options, Part, perform
from tabterm.sound.files import KINDS

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from tabterm.performance import Performance
    from tabterm.score.model import Score
    from tabterm.score.place import Span

MIDI_ENDINGS = (".mid", ".midi")


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    endings = ", ".join((*audio.ENDINGS, *MIDI_ENDINGS))
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("out", type=Path, help=f"the file to write; its ending names the kind: {endings}")
    parser.add_argument("--from", dest="first", type=int, metavar="M", help="first measure, by its number")
    parser.add_argument("--to", dest="last", type=int, metavar="M", help="last measure, by its number")
    parser.add_argument("--tempo", type=int, default=100, metavar="PCT", help="20 to 200 percent (100)")
    parser.add_argument("--loop", type=int, default=1, metavar="N", help="times to play it (1)")
    parser.add_argument("--count-in", type=int, default=0, choices=(0, 1, 2), help="measures counted before (0)")
    parser.add_argument(
        "--click", type=Click, default=Click.OFF, choices=tuple(Click), help="where it clicks (off)"
    )
    configure_band(parser)
    parser.add_argument("--mute-tab", action="store_true", help="without the solo: something to play along with")
    parser.add_argument("--stems", action="store_true", help="a file for each part: OUT-solo, OUT-chords, ...")
    parser.add_argument("--force", action="store_true", help="write over files that are there")


def run(arguments: argparse.Namespace) -> int:
    """Perform, render and write."""
    out, midi = arguments.out, arguments.out.suffix.lower() in MIDI_ENDINGS
    _check(arguments, midi=midi)
    score = with_proposals(read_score(arguments.file))
    span = span_of(score, arguments.first, arguments.last)
    band = options_of(arguments, score)
    if arguments.mute_tab:
        band["parts"] -= {Part.SOLO}
    options = Options(arguments.tempo, arguments.count_in, arguments.click, **band)
    performance = perform(score, span=span, options=options)
    if not any(pluck.start_s >= performance.lead_s for pluck in performance.plucks):
        raise ScoreError("nothing is left to hear", hint="--chords adds chords and bass, --click beats a click")
    if midi:
        check_free(out, force=arguments.force)
        formats.write(out, score, span=span, options=options)
        print(f"{out}: {formats.format_of(out).name} written")
        return 0
    takes = list(_takes(arguments, score, span, performance))
    for take in takes:
        check_free(take.path, force=arguments.force)
    audio.write(takes, score.head.instrument)
    for take in takes:
        print(f"{take.path}: {KINDS[take.path.suffix.lower()].name} written")
    return 0


def _check(arguments: argparse.Namespace, *, midi: bool) -> None:
    """Refuse what no file can be, before anything is read."""
    if not midi and arguments.out.suffix.lower() not in KINDS:
        endings = ", ".join((*audio.ENDINGS, *MIDI_ENDINGS))
        raise FormatError(
            f"unknown ending '{arguments.out.suffix}'", place=str(arguments.out), hint=f"one of: {endings}"
        )
    if arguments.loop < 1:
        raise ScoreError(f"cannot play {arguments.loop} times", hint="a file ends: --loop 1 or more")
    if midi and arguments.loop > 1:
        raise ScoreError("a MIDI file is not looped", hint="leave out --loop, and loop it where it is played")
    if midi and arguments.stems:
        raise ScoreError("a MIDI file has a track for each part already", hint="leave out --stems")


def _takes(
    arguments: argparse.Namespace, score: Score, span: Span | None, performance: Performance
) -> Iterator[audio.Take]:
    """One file of everybody, or one a part."""
    heard = frozenset(pluck.part for pluck in performance.plucks)
    out, percent, turns = arguments.out, arguments.tempo, arguments.loop
    if not arguments.stems:
        yield audio.Take(out, performance, heard, turns, audio.tags_of(score, span, percent))
        return
    for part in Part:
        if part in heard:
            path = out.with_name(f"{out.stem}-{part}{out.suffix}")
            tags = audio.tags_of(score, span, percent, what=part.value)
            yield audio.Take(path, performance, frozenset({part}), turns, tags)
