"""`tabterm render`: write what is heard into a file, audio or MIDI."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.cli import hearing
from tabterm.cli.inputs import FILES, STDIN, Answer, add_json, add_kind, each, file_in, split_out
from tabterm.cli.output import tell, watched
from tabterm.cli.recordings import COPYRIGHT, audio_out, one_ending
from tabterm.cli.scores import add_choice, add_measures, report_files, write
from tabterm.errors import FormatError, ScoreError
from tabterm.performance import Part
from tabterm.piece import audio, slowing
from tabterm.piece.practice import BEFORE_LISTENING
from tabterm.piece.takes import Take, options_of, performed
from tabterm.sound.files import KINDS
from tabterm.storage.names import check_free

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from tabterm.performance import Performance
    from tabterm.piece.practice import Practice
    from tabterm.score.model import Score
    from tabterm.score.place import Span

MIDI_ENDINGS = (".mid", ".midi")
WITH_TAB = ("apart", "mixed")

MIXED_PERCENT = 50
"""Of its level that a recording has where the tab is heard in its middle; tuned here."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    endings = ", ".join((*audio.ENDINGS, *MIDI_ENDINGS))
    parser.usage = "tabterm render FILE OUT  |  FILE ... FOLDER --to-format FORMAT  |  FILE ... -o OUT"
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE", help=f"{FILES}; the last one is the output")
    add_kind(parser)
    parser.add_argument(
        "-o",
        "--out",
        type=Path,
        metavar="OUT",
        help=f"the file to write, or a folder; its extension sets the format: {endings}",
    )
    parser.add_argument(
        "--to-format",
        metavar="FORMAT",
        type=_ending,
        help="format for standard output, or for a folder, such as mp3",
    )
    add_measures(parser)
    add_choice(parser)
    hearing.add_tempo(parser)
    hearing.add_how(parser)
    hearing.add_parts(parser)
    hearing.add_seamless(parser)
    parser.add_argument(
        "--recording",
        action="store_true",
        help="use the recording tied to the measures, in tune, instead of the tab",
    )
    with_tab = "with --recording: add the tab. apart: recording left, tab right; mixed: both in the middle"
    parser.add_argument("--with-tab", choices=WITH_TAB, help=with_tab)
    add_json(parser)
    parser.add_argument("--stems", action="store_true", help="a file for each part: OUT-solo, OUT-chords, ...")
    parser.add_argument("--force", action="store_true", help="overwrite existing files")


def _ending(text: str) -> str:
    return one_ending(text, (*audio.ENDINGS, *MIDI_ENDINGS))


def run(arguments: argparse.Namespace) -> int:
    """Perform, render and write."""
    arguments.target = split_out(arguments)
    status = each(arguments, _render, headed=False)
    if status == 0 and not arguments.json:
        (tell if arguments.target == STDIN else print)(BEFORE_LISTENING)
    return status


def _render(arguments: argparse.Namespace) -> Answer:
    with audio_out(file_in(arguments.target, arguments), arguments.to_format) as path:
        arguments.out = path
        return _write(arguments)


def _write(arguments: argparse.Namespace) -> Answer:
    out = arguments.out
    midi = out.suffix.lower() in MIDI_ENDINGS
    _check(arguments, midi=midi)
    piece, span = hearing.piece_of(arguments)
    score = piece.score
    if arguments.recording and arguments.with_tab is None:
        return _record(arguments, score, span)
    practice = hearing.practice_of(arguments, score, hearing.parts_of(arguments))
    percent = hearing.percent_of(arguments, score, span)
    if arguments.recording:
        return _with_tab(arguments, score, span, practice, percent)
    performance = audio.performance_of(score, span, practice, percent)
    if midi:
        options = options_of(practice, percent, practice.count_in)
        check_free(out, force=arguments.force)
        told = write(piece, out, span=span, options=options)
        return _told(arguments, [out], report=told["report"])
    takes = list(_takes(arguments, score, span, performance, percent))
    for take in takes:
        check_free(take.path, force=arguments.force)
    hearing.tell_length(takes)
    with watched(sum(take.frames for take in takes)) as watch:
        audio.write(takes, watch)
    return _told(arguments, [take.path for take in takes])


def _record(arguments: argparse.Namespace, score: Score, span: Span | None) -> Answer:
    """The recording of the measures, at the tempo."""
    percent = hearing.percent_of(arguments, score, span)
    take, remark = slowing.of_measures(arguments.file, score, span, percent)
    check_free(arguments.out, force=arguments.force)
    with watched(take.frames) as watch:
        slowing.write(take, arguments.out, watch)
    if remark:
        tell(remark)
    tell(COPYRIGHT)
    return _told(arguments, [arguments.out])


def _told(arguments: argparse.Namespace, paths: list[Path], **more: object) -> Answer:
    """Say what was written, in lines or as data."""
    if not arguments.json and arguments.target != STDIN:
        for path in paths:
            kind = KINDS.get(path.suffix.lower()) or formats.format_of(path)
            print(f"{path}: {kind.name} written")
    return Answer(data=report_files(paths) | more)


def _with_tab(
    arguments: argparse.Namespace, score: Score, span: Span | None, practice: Practice, percent: float
) -> Answer:
    """The recording of the measures and the tab on its beats, one left and the other right, or both mixed."""
    tied, remark = slowing.tied_to(arguments.file)
    levels = (*practice.levels, ("record", MIXED_PERCENT)) if arguments.with_tab == "mixed" else practice.levels
    practice = practice.with_(record="both", levels=levels)
    performance = performed([Take(score, span, tied)], practice, percent, lead=True)
    if performance.record is not None and arguments.with_tab == "mixed":
        performance = replace(performance, record=replace(performance.record, apart=False))
    heard = frozenset(pluck.part for pluck in performance.plucks)
    tags = audio.tags_of(score, span, percent, what="with its recording")
    take = audio.AudioFile(arguments.out, performance, heard, arguments.loop, tags)
    check_free(take.path, force=arguments.force)
    with watched(take.frames) as watch:
        audio.write_along(take, watch)
    for words in filter(None, (remark, COPYRIGHT)):
        tell(words)
    return _told(arguments, [take.path])


def _check(arguments: argparse.Namespace, *, midi: bool) -> None:
    """Refuse what no file can be, before anything is read."""
    if not midi and arguments.out.suffix.lower() not in KINDS:
        endings = ", ".join((*audio.ENDINGS, *MIDI_ENDINGS))
        raise FormatError(
            f"unknown file extension '{arguments.out.suffix}'", place=str(arguments.out), hint=f"one of: {endings}"
        )
    hearing.check_turns(arguments)
    if arguments.target == STDIN and arguments.stems:
        raise ScoreError("several files cannot go to standard output", hint="leave out --stems, or name a file")
    if midi and arguments.seamless:
        raise ScoreError(
            "--seamless is for audio, not MIDI", hint="leave it out, and loop the file in your player"
        )
    if midi and arguments.loop > 1:
        raise ScoreError("--loop is for audio, not MIDI", hint="leave it out, and loop the file in your player")
    if arguments.with_tab and not arguments.recording:
        raise ScoreError("--with-tab needs --recording", hint="add --recording")
    if arguments.recording and (midi or arguments.stems or arguments.seamless):
        hint = f"name a file of {', '.join(audio.ENDINGS)}; leave out --seamless and --stems"
        raise ScoreError("a recording is written as one audio file", hint=hint)
    if arguments.recording and arguments.loop > 1 and not arguments.with_tab:
        raise ScoreError("a recording without the tab cannot loop", hint="leave out --loop, or add --with-tab")
    if midi and arguments.stems:
        raise ScoreError("a MIDI file has a track for each part already", hint="leave out --stems")


def _takes(
    arguments: argparse.Namespace, score: Score, span: Span | None, performance: Performance, percent: float
) -> Iterator[audio.AudioFile]:
    """One file of everybody, or one a part."""
    heard = frozenset(pluck.part for pluck in performance.plucks)
    out = arguments.out
    take = partial(audio.AudioFile, performance=performance, turns=arguments.loop, seamless=arguments.seamless)
    if not arguments.stems:
        yield take(out, parts=heard, tags=audio.tags_of(score, span, percent))
        return
    for part in Part:
        if part in heard:
            path = out.with_name(f"{out.stem}-{part}{out.suffix}")
            tags = audio.tags_of(score, span, percent, what=part.value)
            yield take(path, parts=frozenset({part}), tags=tags, whole=heard)
