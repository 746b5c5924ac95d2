"""`tabterm check`: what a hand cannot do, or finds hard, and what to do about it.

With `--json` it prints a list of objects, one a finding: `code`, `severity`, `measure` and `beat` as a player
counts them, `course`, `message`, `numbers`, and `remedies` in the order in which a teacher tries them, each with
its `label`, its `kind` and whether it is applied `unasked`.

With `--fix --json` it prints one object: `file`; `kept`, the file that keeps what was there, or null; `mended`,
findings, each with the `remedy` applied, its `kind` and its `changes` (`measure`, `beat`, `before`, `after`); and
`left`, the findings that remain.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli import mending
from tabterm.cli.scores import add_choice, among, opened
from tabterm.hand.finding import Kind
from tabterm.hand.review import Finding, Severity, findings
from tabterm.hand.trial import offered
from tabterm.piece.preview import changes
from tabterm.score.operations import scale_tempos
from tabterm.score.place import count_name, display_number
from tabterm.score.tempo import Tempo

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.hand.finding import Remedy
    from tabterm.hand.player import Player
    from tabterm.hand.trial import Mended
    from tabterm.piece.piece import Piece
    from tabterm.score.model import Score

    Offer = tuple[Finding, Sequence[Remedy]]

CAUTION = (
    "These limits are averages, not a promise: stop when something hurts, and ask a teacher or physician "
    "before you train a wide reach."
)

MOST_WAYS = 3
"""Remedies that are named behind a finding."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("--json", action="store_true", help="print a JSON list of objects instead of lines")
    parser.add_argument("--tempo", metavar="TEMPO", help="ask at another tempo, such as 120 or 3/8=90, or 80%%")
    parser.add_argument(
        "--fix", action="store_true", help="apply the first remedy of each finding, show what changes"
    )
    kinds, words = ", ".join(Kind), ", ".join(mending.ALLOWED)
    parser.add_argument(
        "--only", metavar="KIND", type=_kinds, help=f"with --fix: these kinds of remedy alone: {kinds}"
    )
    parser.add_argument(
        "--allow",
        metavar="WHAT",
        type=among(mending.ALLOWED),
        help=f"with --fix: change this as well: {words}",
    )
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
        _tell(asked, _offers(asked, player, found), str(arguments.file))
    return _status(found)


def _status(found: Sequence[Finding]) -> int:
    return int(any(finding.severity is Severity.IMPOSSIBLE for finding in found))


def _offers(score: Score, player: Player, found: Sequence[Finding]) -> Iterator[Offer]:
    for finding in found:
        yield finding, offered(score, player, finding)


def _tell(score: Score, offers: Iterable[Offer], name: str) -> None:
    """Each finding with its remedies, and how many there are."""
    found = []
    for finding, remedies in offers:
        print(as_line(score, finding, remedies, name))
        found.append(finding)
    print(f"{name}: {_counted(found)}")
    if any(finding.code.startswith("reach") for finding in found):
        print(CAUTION)


def _kinds(text: str) -> tuple[Kind, ...]:
    return tuple(Kind(word) for word in among(tuple(Kind))(text))


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
    """Mend a piece, and say what was done, what changed, and what is left."""
    player, fixed = piece.player, mending.fix(arguments, piece, written)
    left = findings(fixed.score, player)
    if arguments.json:
        done = [_as_mended(player, each) for each in fixed.mended]
        rest = [as_json(fixed.score, player, finding) for finding in left]
        kept = None if fixed.kept is None else str(fixed.kept)
        print(printable.as_json({"file": str(fixed.out), "kept": kept, "mended": done, "left": rest}, indent=2))
        return _status(left)
    for each in fixed.mended:
        print(*mending.lines(player, each), sep="\n")
    if fixed.mended:
        kept = "" if fixed.kept is None else f"; as it was: {fixed.kept}"
        print(f"{fixed.out}: {len(fixed.mended)} mended, written{kept}")
    offers = list(_offers(fixed.score, player, left))
    if left and not fixed.mended:
        print(f"{fixed.out}: {mending.nothing_mended(arguments, [remedies for _, remedies in offers])}")
    _tell(fixed.score, offers, str(fixed.out))
    return _status(left)


def _as_mended(player: Player, done: Mended) -> dict[str, object]:
    """What was done about a finding as plain data."""
    changed = [
        {"measure": display_number(done.before, each.place.measure), "beat": count_name(done.before, each.place)}
        | {"before": each.before, "after": each.after}
        for each in changes(done.before, done.after, player)
    ]
    remedy = {"remedy": done.remedy.label, "kind": done.remedy.kind.value, "changes": changed}
    return _plain(done.before, done.finding) | remedy


def as_json(score: Score, player: Player, finding: Finding) -> dict[str, object]:
    """A finding as plain data, with the remedies that help."""
    return _plain(score, finding) | {
        "remedies": [
            {"label": remedy.label, "kind": remedy.kind.value, "unasked": remedy.is_unasked}
            for remedy in offered(score, player, finding)
        ]
    }


def _plain(score: Score, finding: Finding) -> dict[str, object]:
    """A finding alone as plain data; measure and beat as a player counts them."""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "measure": display_number(score, finding.place.measure),
        "beat": count_name(score, finding.place),
        "course": finding.course,
        "message": finding.message,
        "numbers": dict(finding.numbers),
    }


def as_line(score: Score, finding: Finding, remedies: Sequence[Remedy], name: str) -> str:
    """A finding as one line, with the first of its remedies; those that change the music if no other helps."""
    letters = score.head.instrument.course_letters()
    course = f", course {letters[finding.course - 1]}" if finding.course else ""
    number, beat = display_number(score, finding.place.measure), count_name(score, finding.place)
    place = f"{name}: measure {number}, beat {beat}{course}"
    return f"{place}: {finding.severity}: {finding.message}{_tries(remedies)}"


def _tries(remedies: Sequence[Remedy]) -> str:
    unasked = [remedy.label for remedy in remedies if remedy.is_unasked]
    others = [remedy.label for remedy in remedies if not remedy.is_unasked]
    if unasked:
        return f"; try: {'; '.join(unasked[:MOST_WAYS])}"
    return f"; only if you like: {'; '.join(others[:MOST_WAYS])}" if others else ""
