"""`tabterm check`: what a hand cannot do, or finds hard."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import formats
from tabterm.hand.findings import Finding, Severity, findings
from tabterm.hand.strokes import with_proposals
from tabterm.score.place import count_name, display_number
from tabterm.workspace import configuration

if TYPE_CHECKING:
    import argparse

    from tabterm.score.model import Score

CAUTION = (
    "These limits are averages, not a promise: stop when something hurts, and ask a teacher or physician "
    "before you train a wide reach."
)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("file", type=Path, help="a score in any format that can be read")
    parser.add_argument("--json", action="store_true", help="print a JSON list of objects instead of lines")


def run(arguments: argparse.Namespace) -> int:
    """Print the findings; 1 when any is impossible, else 0."""
    score = with_proposals(configuration.in_hand(formats.read(arguments.file).score))
    found = findings(score)
    if arguments.json:
        print(json.dumps([as_json(score, finding) for finding in found], indent=2, ensure_ascii=False))
    else:
        for finding in found:
            print(as_line(score, finding, str(arguments.file)))
        counts = Counter(finding.severity for finding in found)
        words = ", ".join(f"{counts[severity]} {severity}" for severity in Severity if counts[severity])
        print(f"{arguments.file}: {words or 'nothing found'}")
        if any(finding.code.startswith("reach") for finding in found):
            print(CAUTION)
    return int(any(finding.severity is Severity.IMPOSSIBLE for finding in found))


def as_json(score: Score, finding: Finding) -> dict[str, object]:
    """A finding as plain data; measure and beat as a player counts them."""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "measure": display_number(score, finding.place.measure),
        "beat": count_name(score, finding.place),
        "course": finding.course,
        "message": finding.message,
        "numbers": dict(finding.numbers),
        "remedies": [remedy.label for remedy in finding.remedies],
    }


def as_line(score: Score, finding: Finding, name: str) -> str:
    """A finding as one line."""
    letters = score.head.instrument.course_letters()
    course = f", course {letters[finding.course - 1]}" if finding.course else ""
    number, beat = display_number(score, finding.place.measure), count_name(score, finding.place)
    tries = "; ".join(remedy.label for remedy in finding.remedies)
    ways = f"; try: {tries}" if tries else ""
    return f"{name}: measure {number}, beat {beat}{course}: {finding.severity}: {finding.message}{ways}"
