"""What a remedy would change, as lines of text tab before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import TabtermError
from tabterm.piece.piece import cut_out
from tabterm.score.change import Change

if TYPE_CHECKING:
    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.player import Player
    from tabterm.score.model import Score

MOST_MEASURES = 2
"""Measures that a preview shows."""


def preview(score: Score, player: Player, finding: Finding, remedy: Remedy, width: int = 70) -> list[str]:
    """The lines that a remedy changes, `-` as they are and `+` as they would be; or why it cannot be done."""
    from tabterm.hand.proposals import with_hands

    try:
        after = with_hands(remedy.operation(score, finding.place), player)
    except TabtermError as error:
        return [str(error)]
    change = Change.between(with_hands(score, player), after)
    if change is None:
        return ["nothing would change"]
    if change.head_after is not None and not change.inserted:
        return [f"- tempo {score.head.tempo}", f"+ tempo {after.head.tempo}"]
    first = min(max(change.first, finding.place.measure - 1), len(score.measures) - 1)
    last = min(first + MOST_MEASURES, change.first + max(len(change.inserted), 1), len(after.measures)) - 1
    old, new = (_lines(each, player, first, max(last, first), width) for each in (score, after))
    differing = [(one, other) for one, other in zip(old, new, strict=False) if one != other]
    if len(old) != len(new):
        differing = [*((line, "") for line in old), *(("", line) for line in new)]
    return [
        f"{sign} {line}" for sign, lines in (("-", 0), ("+", 1)) for pair in differing if (line := pair[lines])
    ]


def _lines(score: Score, player: Player, first: int, last: int, width: int) -> list[str]:
    """Courses, fingers and strokes of some measures."""
    from tabterm.formats.text import write
    from tabterm.hand.proposals import with_hands

    piece = with_hands(score, player)
    page = write(cut_out(piece, first, last), width=width, rows=("finger", "stroke")).decode().splitlines()
    return [line for line in page if "|" in line or line.startswith(("finger", "stroke"))]
