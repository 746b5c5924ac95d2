"""Phrases, as far as a band hears them: where one ends, so that the bass may walk into the next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import Barline

if TYPE_CHECKING:
    from tabterm.score.model import Measure, Score

PHRASE = 4  #: measures; common practice, no source
"""Where nothing that is written ends a phrase, every fourth measure does."""


def phrase_ends(score: Score) -> frozenset[int]:
    """Indices of the measures that end a phrase: at a bar line, repeat or new section, or after four measures."""
    ends, count = set(), 0
    for index, measure in enumerate(score.measures):
        count += index > 0 or not measure.short
        following = score.measures[index + 1] if index + 1 < len(score.measures) else None
        if count >= PHRASE or _ends(measure, following):
            ends.add(index)
            count = 0
    return frozenset(ends)


def _ends(measure: Measure, following: Measure | None) -> bool:
    """Whether what is written ends a phrase with a measure."""
    if measure.barline is not Barline.SINGLE or measure.repeat_times or following is None:
        return True
    return bool(following.section) or following.repeat_start
