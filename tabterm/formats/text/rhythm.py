"""The words of a row of durations."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.page.signs import BRACKET
from tabterm.score.duration import TRIPLET, TUPLETS, Duration, Tuplet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.formats.text.measures import Segment
    from tabterm.score.report import Reporter

LETTERS = {"w": 1, "h": 2, "q": 4, "e": 8, "s": 16, "t": 32}
"""Note values by the letters that players write over a tab (common practice, no source)."""

_LETTER = re.compile(r"^([whqest])(\.{0,2})$", re.IGNORECASE)


@dataclass(slots=True)
class RowValue:
    """A word of the row, `8`, `-4`, `(8)`, `[8` or `8]3`, with its character in the segment.

    Attributes:
        x: The character.
        duration: The value; out of its tuplet until that has been read to its end.
        rest: It is that of a rest.
        opens: A tuplet begins with it.
        closes: The ratio of the tuplet that ends with it, "" where none does.
    """

    x: int
    duration: Duration
    rest: bool = False
    opens: bool = False
    closes: str = ""


def read_value(word: str, x: int) -> RowValue | None:
    """The value of a word of the row, or None."""
    body, closed, ratio = word.removeprefix(BRACKET).partition("]")
    inner = body.removeprefix("-")
    duration = read_duration(inner[1:-1] if inner.startswith("(") and inner.endswith(")") else inner)
    if duration is None or (closed and _ratio(ratio) is None):
        return None
    return RowValue(x, duration, body.startswith("-"), word.startswith(BRACKET), ratio)


def read_duration(text: str) -> Duration | None:
    """The duration of a word of a rhythm row (or of a letter, `q.`), or None."""
    letter = _LETTER.match(text)
    if letter is not None:
        return Duration(LETTERS[letter.group(1).lower()], len(letter.group(2)))
    try:
        if text.endswith("t"):
            return Duration.parse(text[:-1]).in_tuplet(TRIPLET)
        return Duration.parse(text)
    except ScoreError:
        return None


def _ratio(text: str) -> Tuplet | None:
    """A ratio in full, or the usual one of so many notes."""
    try:
        return next((usual for usual in TUPLETS if text == str(usual.actual)), None) or Tuplet.parse(text)
    except ScoreError:
        return None


def put_into_tuplets(segments: Iterable[Segment], report: Reporter) -> None:
    """Put the values between brackets into their tuplets; brackets may span what a page breaks in two."""
    inside: list[tuple[Segment, RowValue]] = []
    for segment in segments:
        for value in segment.rhythm:
            if value.opens and inside:
                _tell_unmatched(*inside[0], report)
            if inside or value.opens:
                inside = [*([] if value.opens else inside), (segment, value)]
            if value.closes and not inside:
                _tell_unmatched(segment, value, report)
            if value.closes:
                for _, each in inside:
                    each.duration = each.duration.in_tuplet(_ratio(value.closes))
                inside = []
    if inside:
        _tell_unmatched(*inside[0], report)


def _tell_unmatched(segment: Segment, value: RowValue, report: Reporter) -> None:
    text = "a tuplet bracket has only one end: its values are read as plain ones"
    report.changed(text, *segment.at(value.x, "rhythm"))
