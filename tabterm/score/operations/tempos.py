"""All tempos of a score at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.operations.draft import Draft, commit
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from tabterm.score.model import Score


def scale_tempos(score: Score, factor: float) -> Score:
    """Play everything faster or slower by a factor; tempos keep their proportion.

    Raises:
        ScoreError: A tempo would leave the range from 10 to 400.
    """
    drafts = [
        Draft.of(measure, tempo=None if measure.tempo is None else _scaled(measure.tempo, factor))
        for measure in score.measures
    ]
    return commit(score, 0, len(drafts), drafts, score.head.with_(tempo=_scaled(score.head.tempo, factor)))


def tempos_of(score: Score, other: Score) -> Score:
    """The score with the tempos of another that has as many measures."""
    pairs = zip(score.measures, other.measures, strict=True)
    drafts = [Draft.of(measure, tempo=model.tempo) for measure, model in pairs]
    return commit(score, 0, len(drafts), drafts, score.head.with_(tempo=other.head.tempo))


def _scaled(tempo: Tempo, factor: float) -> Tempo:
    per_minute = round(tempo.per_minute * factor, 1)
    if not SLOWEST <= per_minute <= FASTEST:
        raise ScoreError(f"a tempo of {per_minute:g} is out of range", hint="use 10 to 400")
    return Tempo(per_minute, tempo.beat)
