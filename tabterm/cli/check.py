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
from typing import TYPE_CHECKING

from tabterm.cli import mending
from tabterm.cli.inputs import STDIN, Answer, add_files, add_json, each
from tabterm.cli.output import say as coloured
from tabterm.cli.output import tell
from tabterm.cli.scores import TEMPO, add_choice, add_measures, add_out, among, opened, tempo_share, within
from tabterm.hand.finding import Kind
from tabterm.hand.review import Finding, Severity, findings
from tabterm.hand.trial import offered
from tabterm.piece.preview import changes
from tabterm.score.operations import scale_tempos
from tabterm.score.place import count_name, display_number

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from tabterm.hand.finding import Remedy
    from tabterm.hand.player import Player
    from tabterm.hand.trial import Mended
    from tabterm.piece.piece import Piece
    from tabterm.score.model import Score

    Offer = tuple[Finding, Sequence[Remedy]]

CAUTION = (
    "These limits are averages, not a promise: stop when something hurts, and ask a teacher or doctor "
    "before you train a wide reach."
)

STYLES = {Severity.IMPOSSIBLE: "bad", Severity.HARD: "doubtful"}
"""How the severities are told apart where there are colours; they are named in any case."""

MOST_WAYS = 3
"""Remedies that are named behind a finding."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    add_files(parser)
    add_measures(parser)
    add_json(parser)
    parser.add_argument(
        "--fail-on",
        choices=tuple(FAILS),
        default=Severity.IMPOSSIBLE.value,
        help="exit with status 1 at this severity or worse (impossible)",
    )
    parser.add_argument("--tempo", metavar="TEMPO", help=f"judge it at {TEMPO}")
    parser.add_argument(
        "--fix", action="store_true", help="apply the first remedy of each finding, and show what changes"
    )
    kinds, words = ", ".join(Kind), ", ".join(mending.ALLOWED)
    parser.add_argument(
        "--only", metavar="KIND", type=_kinds, help=f"with --fix: only these kinds of remedy: {kinds}"
    )
    parser.add_argument(
        "--allow",
        metavar="WHAT",
        type=among(mending.ALLOWED),
        help=f"with --fix: allow these changes too: {words}",
    )
    add_out(parser, "with --fix: write to this file, and leave the original unchanged")
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the findings of each file; 1 when any is as bad as asked for, else 0."""
    return each(arguments, _check, headed=False)


def _check(arguments: argparse.Namespace) -> Answer:
    piece = opened(arguments.file, arguments)
    written = piece.score
    if arguments.tempo is not None:
        share = tempo_share(arguments.tempo, written.head.tempo)
        piece = replace(piece, score=scale_tempos(written, share))
    if arguments.fix:
        return _fix(arguments, piece.stroked(), written)
    asked, player = piece.stroked().score, piece.player
    measures = within(asked, arguments)
    found = [finding for finding in piece.findings() if finding.place.measure in measures]
    if arguments.json:
        return Answer(_status(arguments, found), [as_json(asked, player, finding) for finding in found])
    _tell(asked, _offers(asked, player, found), str(arguments.file))
    return Answer(_status(arguments, found))


FAILS = {word.value: frozenset(list(Severity)[: number + 1]) for number, word in enumerate(Severity)} | {
    "never": frozenset()
}
"""The severities at which the exit status is 1, by the word of `--fail-on`."""


def _status(arguments: argparse.Namespace, found: Iterable[Finding]) -> int:
    return int(any(finding.severity in FAILS[arguments.fail_on] for finding in found))


def _offers(score: Score, player: Player, found: Sequence[Finding]) -> Iterator[Offer]:
    for finding in found:
        yield finding, offered(score, player, finding)


def _tell(score: Score, offers: Iterable[Offer], name: str, say: Callable[[str], None] = print) -> None:
    """Each finding with its remedies, and how many there are."""
    found = []
    for finding, remedies in offers:
        line = as_line(score, finding, remedies, name)
        if say is print:
            coloured(line, f": {finding.severity}: ", STYLES.get(finding.severity, "strong"))
        else:
            say(line)
        found.append(finding)
    say(f"{name}: {_counted(found)}")
    if any(finding.code.startswith("reach") for finding in found):
        say(CAUTION)


def _kinds(text: str) -> tuple[Kind, ...]:
    return tuple(Kind(word) for word in among(tuple(Kind))(text))


def _counted(found: Sequence[Finding]) -> str:
    counts = Counter(finding.severity for finding in found)
    return (
        ", ".join(f"{counts[severity]} {severity}" for severity in Severity if counts[severity]) or "nothing found"
    )


def _fix(arguments: argparse.Namespace, piece: Piece, written: Score) -> Answer:
    """Mend a piece, and say what was done, what changed, and what is left."""
    player, fixed = piece.player, mending.fix(arguments, piece, written)
    left = findings(fixed.score, player)
    if arguments.json:
        done = [_as_mended(player, one) for one in fixed.mended]
        rest = [as_json(fixed.score, player, finding) for finding in left]
        kept = None if fixed.kept is None else str(fixed.kept)
        status = _status(arguments, left)
        return Answer(status, {"file": str(fixed.out), "kept": kept, "mended": done, "left": rest})
    say = tell if fixed.out == STDIN else print
    for one in fixed.mended:
        for line in mending.lines(player, one):
            say(line)
    if fixed.mended:
        kept = "" if fixed.kept is None else f"; the original is kept as {fixed.kept}"
        say(f"{fixed.out}: {len(fixed.mended)} fixed, written{kept}")
    offers = list(_offers(fixed.score, player, left))
    if left and not fixed.mended:
        say(f"{fixed.out}: {mending.nothing_mended(arguments, [remedies for _, remedies in offers])}")
    _tell(fixed.score, offers, str(fixed.out), say)
    return Answer(_status(arguments, left))


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
    return f"; optional: {'; '.join(others[:MOST_WAYS])}" if others else ""
