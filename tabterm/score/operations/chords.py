"""Writing chord symbols."""

from __future__ import annotations

from pydantic import ValidationError

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Score
from tabterm.score.operations.draft import change_measure
from tabterm.score.place import Place, describe


def set_chord(score: Score, place: Place, symbol: str | None) -> Score:
    """Put a chord symbol over a moment, in place of the one there; None takes it away.

    Raises:
        ScoreError: The symbol has a space or more than 24 characters, or the place is past the end.
    """
    if place.measure >= len(score.measures):
        raise ScoreError("there is nothing after the last measure", hint="write a measure first")
    marks = {mark.offset: mark for mark in score.measures[place.measure].chords}
    marks.pop(place.offset, None)
    if symbol is not None:
        try:
            marks[place.offset] = ChordMark(offset=place.offset, symbol=symbol)
        except ValidationError:
            raise ScoreError(
                f"'{symbol}' is no chord symbol",
                hint="at most 24 characters without a space",
                place=describe(score, place),
            ) from None
    chords = tuple(mark for _, mark in sorted(marks.items()))
    return change_measure(score, place.measure, chords=chords)
