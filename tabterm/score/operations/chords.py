"""Writing chord symbols."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Score
from tabterm.score.operations.draft import MeasureDraft, change_measure, commit, refusing
from tabterm.score.place import Place, Span, describe

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction


def set_chord(score: Score, place: Place, symbol: str | None) -> Score:
    """Put a chord symbol over a moment, in place of the one there; None takes it away.

    Raises:
        ScoreError: The symbol has a space or more than 24 characters, or the place is past the end.
    """
    if place.measure >= len(score.measures) or place.offset >= score.measures[place.measure].length:
        raise ScoreError("there is no music here to put a chord over", hint="write a measure first")
    marks = {mark.offset: mark for mark in score.measures[place.measure].chords}
    marks.pop(place.offset, None)
    if symbol is not None:
        hint = "at most 24 characters without a space"
        with refusing(f"not a chord symbol: '{symbol}'", hint=hint, place=describe(score, place)):
            marks[place.offset] = ChordMark(offset=place.offset, symbol=symbol)
    return change_measure(score, place.measure, chords=_in_order(marks))


def lay_chords(score: Score, span: Span, symbols: Mapping[Place, str]) -> Score:
    """Put these chord symbols into a span in place of all that stand there."""
    last = min(span.end.measure, len(score.measures) - 1)
    drafts = []
    for index in range(span.start.measure, last + 1):
        old = score.measures[index].chords
        marks = {mark.offset: mark for mark in old if Place(index, mark.offset) not in span}
        drafts.append(MeasureDraft.of(score.measures[index], chords=marks))
    for place, symbol in symbols.items():
        marks = drafts[place.measure - span.start.measure].changes["chords"]
        marks[place.offset] = ChordMark(offset=place.offset, symbol=symbol)
    for draft in drafts:
        draft.changes["chords"] = _in_order(draft.changes["chords"])
    return commit(score, span.start.measure, len(drafts), drafts)


def _in_order(marks: Mapping[Fraction, ChordMark]) -> tuple[ChordMark, ...]:
    return tuple(sorted(marks.values(), key=lambda mark: mark.offset))
