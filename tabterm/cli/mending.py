"""`tabterm check --fix`: the remedies applied to a file, and what they change."""

from __future__ import annotations

import os
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tabterm import formats
from tabterm.cli.inputs import STDIN
from tabterm.cli.output import tell
from tabterm.cli.scores import check_out, write
from tabterm.errors import ScoreError, StorageError
from tabterm.hand.finding import KINDS, UNASKED, Kind
from tabterm.hand.trial import mended
from tabterm.piece.preview import changes
from tabterm.score.operations import tempos_of
from tabterm.score.place import describe
from tabterm.storage.lock import Lock, LockHolder
from tabterm.storage.opening import read
from tabterm.storage.whole import check_not_read_only, kept_beside
from tabterm.workspace import drafts
from tabterm.workspace.outside import Doubt, doubt_to_replace, words

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence

    from tabterm.hand.finding import Remedy
    from tabterm.hand.player import Player
    from tabterm.hand.trial import Mended
    from tabterm.piece.piece import Piece
    from tabterm.score.model import Score

ALLOWED = {
    "rhythm": {Kind.RHYTHM},
    "register": {Kind.REGISTER},
    "pitch": {Kind.PITCH},
    "tempo": {Kind.MEASURE, Kind.TEMPO},
}
"""What `--allow` allows, by its word."""

OF_TEMPO = ALLOWED["tempo"]

KEPT = ".before-fix"
"""Ending of the file that keeps what was mended in place."""


class Fixed(NamedTuple):
    """A file that was mended.

    Attributes:
        out: The file that was written, or would have been.
        kept: The file that keeps what it held before, if one does.
        mended: What was done.
        score: The music now, at the tempo that was asked about.
    """

    out: Path
    kept: Path | None
    mended: list[Mended]
    score: Score


def kinds_of(arguments: argparse.Namespace) -> set[Kind]:
    """The kinds of remedies that the arguments ask for."""
    kinds = set(UNASKED).union(*(ALLOWED[word] for word in arguments.allow or ()))
    if arguments.only:
        kinds = set(arguments.only)
    return kinds if arguments.tempo is None else kinds - OF_TEMPO


def fix(arguments: argparse.Namespace, piece: Piece, written: Score) -> Fixed:
    """Mend what can be mended of a piece at the tempo asked for, and write it.

    Where a tempo was asked for, the tempos of the file stay as they were `written`.

    Raises:
        ScoreError: Some measures alone were asked for.
        StorageError: The file is not one that is mended in place, or the disk refused.
    """
    if arguments.first is not None or arguments.last is not None:
        raise ScoreError("--fix works on the whole score", hint="leave out --from and --to")
    out = arguments.out or arguments.file
    if arguments.out is not None:
        check_out(arguments.out, force=arguments.force, to_format=arguments.to_format)
    elif out == STDIN:
        raise StorageError("standard input cannot be fixed in place", hint="-o NAME.tabterm")
    elif not formats.format_of(out).writes or out.suffix != ".tabterm":
        raise StorageError("only a .tabterm file can be fixed in place", place=str(out), hint="-o NAME.tabterm")
    with _held(out):
        data = b"" if arguments.out is not None else _unchanged(out, written)
        score, applied = mended(piece.score, piece.player, kinds_of(arguments))
        kept = None
        if applied or out == STDIN:
            if arguments.out is None:
                check_not_read_only(out)
                kept = kept_beside(out, data, KEPT)
            fixed = score if arguments.tempo is None else tempos_of(score, written)
            write(replace(piece, score=fixed), out, to_format=arguments.to_format)
        return Fixed(out, kept, applied, score)


@contextmanager
def _held(path: Path) -> Iterator[None]:
    """The lock of a document for a while; as in the editor, work goes on where the file system knows no locks.

    Raises:
        StorageError: Somebody else holds it, or an editor that ended left changes in its journal, which would not
            fit the file any more.
    """
    real = Path(os.path.realpath(path))
    try:
        holder = Lock.take(real)
    except OSError:
        yield
        return
    if isinstance(holder, LockHolder):
        raise StorageError(f"open elsewhere: {holder}", place=str(path), hint="fix it there, or use -o")
    try:
        if drafts.has_unsaved(real):
            hint = "open it in the editor, or use -o"
            raise StorageError("it has unsaved changes", place=str(path), hint=hint)
        yield
    finally:
        holder.release()


def _unchanged(path: Path, known: Score) -> bytes:
    """What a file holds; raises StorageError where it was saved between its reading and the lock.

    It says who keeps the old music.
    """
    data = read(path)
    if formats.read(path).music != known:
        raise StorageError("it changed in the meantime", place=str(path), hint="run this again")
    if doubt_to_replace(path) is Doubt.LINKED:
        tell(f"tabterm: {words(Doubt.LINKED, path)}")
    return data


# What is said of it


def nothing_mended(arguments: argparse.Namespace, offers: Sequence[Sequence[Remedy]]) -> str:
    """Why nothing was mended, and what may be allowed as well, from the remedies that each finding has."""
    if arguments.only:
        return f"nothing fixed: no remedy of --only {','.join(arguments.only)} helps"
    shut = OF_TEMPO if arguments.tempo is not None else set()
    offered = {remedy.kind for remedies in offers for remedy in remedies} - kinds_of(arguments) - shut
    first = {word: [kind for kind in Kind if kind in kinds & offered][:1] for word, kinds in ALLOWED.items()}
    allowed = ", ".join(f"{word} ({KINDS[kind]})" for word, found in first.items() for kind in found)
    if not allowed:
        return "nothing fixed: every remedy makes something else harder"
    return f"nothing fixed: only changes to the music help: --allow {allowed}"


def lines(player: Player, done: Mended) -> Iterator[str]:
    """What was done about a finding, and each change as measure, beat, before and after."""
    finding = done.finding
    yield f"{describe(done.before, finding.place)}: {done.remedy.label}, because {finding.message}"
    for each in changes(done.before, done.after, player):
        yield f"  {describe(done.before, each.place)}: {each.before} -> {each.after}"
