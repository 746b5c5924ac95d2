"""Measures by the numbers that a player reads: a pickup is measure 0."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.operations import delete_measures
from tabterm.score.place import Span, display_number, measure_index

if TYPE_CHECKING:
    from tabterm.score.model import Score


def span_of(score: Score, first: int | None, last: int | None) -> Span | None:
    """The measures between two players' numbers, both included; None for the whole score.

    Raises:
        ScoreError: There is no such measure, or the last stands before the first.
    """
    if first is None and last is None:
        return None
    lowest, highest = display_number(score, 0), display_number(score, len(score.measures) - 1)
    indices = []
    for number in (lowest if first is None else first, highest if last is None else last):
        index = measure_index(score, number)
        if index is None:
            raise ScoreError(f"no measure {number}", hint=f"{lowest} to {highest}")
        indices.append(index)
    if indices[0] > indices[1]:
        raise ScoreError("the last measure stands before the first", hint="give the smaller number first")
    return Span.of_measures(*indices)


def cut_out(score: Score, first: int, last: int) -> Score:
    """The measures from index `first` to `last` as a score of their own, in the metre, key and tempo they have."""
    piece = score
    if last + 1 < len(piece.measures):
        piece = delete_measures(piece, last + 1, len(piece.measures) - 1)
    return delete_measures(piece, 0, first - 1) if first else piece
