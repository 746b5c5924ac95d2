"""`tabterm check`: what a hand cannot do, or finds hard."""

from __future__ import annotations

import difflib
import os
from collections import Counter
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats, printable
from tabterm.cli.output import tell
from tabterm.cli.scores import add_choice, check_out, opened, write
from tabterm.errors import StorageError
from tabterm.formats import text
from tabterm.hand.review import Finding, Severity, findings
from tabterm.hand.trial import mended, offered
from tabterm.score.operations import scale_tempos, tempos_of
from tabterm.score.place import count_name, display_number
from tabterm.score.tempo import Tempo
from tabterm.storage.lock import Lock, LockHolder
from tabterm.workspace import drafts
from tabterm.workspace.outside import Doubt, doubt_to_replace, words

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence

    from tabterm.hand.player import Player
    from tabterm.piece.piece import Piece
    from tabterm.score.model import Score

CAUTION = (
    "These limits are averages, not a promise: stop when something hurts, and ask a teacher or physician "
    "before you train a wide reach."
)


DIFF_WIDTH = 100
"""Characters of a line of a diff."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("--json", action="store_true", help="print a JSON list of objects instead of lines")
    parser.add_argument("--tempo", metavar="TEMPO", help="ask at another tempo, such as 120 or 3/8=90, or 80%%")
    parser.add_argument("--fix", action="store_true", help="apply the first remedy of each finding")
    parser.add_argument("-o", "--out", type=Path, help="with --fix: write to this file instead of the same one")
    parser.add_argument("--force", action="store_true", help="with -o: write over a file that is there")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the findings; 1 when any is impossible, else 0."""
    piece = opened(arguments.file, arguments)
    written = piece.score
    if arguments.tempo is not None:
        piece = replace(piece, score=at_tempo(written, arguments.tempo))
    if arguments.fix:
        return _fix(arguments, piece.stroked(), written)
    asked, player, found = piece.stroked().score, piece.player, piece.findings()
    if arguments.json:
        print(printable.as_json([as_json(asked, player, finding) for finding in found], indent=2))
    else:
        for finding in found:
            print(as_line(asked, player, finding, str(arguments.file)))
        print(f"{arguments.file}: {_counted(found)}")
        if any(finding.code.startswith("reach") for finding in found):
            print(CAUTION)
    return int(any(finding.severity is Severity.IMPOSSIBLE for finding in found))


def at_tempo(score: Score, words: str) -> Score:
    """The score at another tempo of its head, or at a percentage of all its tempos; the rest in proportion.

    Raises:
        ScoreError: The words are no tempo, or one out of range.
    """
    if words.endswith("%") and words[:-1].isdecimal():
        return scale_tempos(score, int(words[:-1]) / 100.0)
    return scale_tempos(score, Tempo.parse(words).quarters_per_minute / score.head.tempo.quarters_per_minute)


def _counted(found: Sequence[Finding]) -> str:
    counts = Counter(finding.severity for finding in found)
    return (
        ", ".join(f"{counts[severity]} {severity}" for severity in Severity if counts[severity]) or "nothing found"
    )


def _fix(arguments: argparse.Namespace, piece: Piece, written: Score) -> int:
    """Mend what can be mended of a piece at the tempo asked for, show what that changes, and write it.

    Where a tempo was asked for, the tempos of the file stay as they were `written`.
    """
    asked, player = piece.score, piece.player
    out = arguments.out or arguments.file
    if arguments.out is not None:
        check_out(arguments.out, force=arguments.force)
    elif not formats.format_of(out).writes or out.suffix != ".tabterm":
        raise StorageError("only a .tabterm file is mended in place", place=str(out), hint="-o NAME.tabterm")
    with _held(out):
        if arguments.out is None:
            _check_unchanged(out, written)
        fixed, applied = mended(asked, player, keep_tempo=arguments.tempo is not None)
        for finding, remedy in applied:
            print(f"{as_line(asked, player, finding, str(arguments.file), ways=False)}; done: {remedy.label}")
        print(diff(asked, fixed), end="")
        if arguments.tempo is not None:
            fixed = tempos_of(fixed, written)
        if applied:
            write(replace(piece, score=fixed), out)
            print(f"{out}: {len(applied)} mended, written")
        left = findings(fixed, player)
        print(f"{out}: {_counted(left)}")
        return int(any(finding.severity is Severity.IMPOSSIBLE for finding in left))


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
        raise StorageError(f"open elsewhere: {holder}", place=str(path), hint="mend it there, or use -o")
    try:
        if drafts.has_unsaved(real):
            hint = "open it in the editor, or use -o"
            raise StorageError("it has changes that were not saved", place=str(path), hint=hint)
        yield
    finally:
        holder.release()


def _check_unchanged(path: Path, read: Score) -> None:
    """Raise StorageError where a file was saved between its reading and the lock; say who keeps the old music."""
    if formats.read(path).music != read:
        raise StorageError("it was changed in the meantime", place=str(path), hint="run this again")
    if doubt_to_replace(path) is Doubt.LINKED:
        tell(f"tabterm: {words(Doubt.LINKED, path)}")


def diff(before: Score, after: Score) -> str:
    """What differs between two scores, as a unified diff of their text tabs."""
    one, other = (text.write(each, width=DIFF_WIDTH).decode().splitlines() for each in (before, after))
    lines = difflib.unified_diff(one, other, "before", "after", n=1, lineterm="")
    return "".join(f"{line}\n" for line in lines)


def as_json(score: Score, player: Player, finding: Finding) -> dict[str, object]:
    """A finding as plain data; measure and beat as a player counts them."""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "measure": display_number(score, finding.place.measure),
        "beat": count_name(score, finding.place),
        "course": finding.course,
        "message": finding.message,
        "numbers": dict(finding.numbers),
        "remedies": [remedy.label for remedy in offered(score, player, finding)],
    }


def as_line(score: Score, player: Player, finding: Finding, name: str, *, ways: bool = True) -> str:
    """A finding as one line, with the remedies that help unless told otherwise."""
    letters = score.head.instrument.course_letters()
    course = f", course {letters[finding.course - 1]}" if finding.course else ""
    number, beat = display_number(score, finding.place.measure), count_name(score, finding.place)
    helping = offered(score, player, finding) if ways else ()
    tries = "; try: " + "; ".join(remedy.label for remedy in helping) if helping else ""
    return f"{name}: measure {number}, beat {beat}{course}: {finding.severity}: {finding.message}{tries}"
