"""The phrases of a score, of which those that a change leaves as they are come from the score before it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from itertools import takewhile
from operator import is_
from typing import TYPE_CHECKING

from tabterm.hand.onsets import BEGIN, walk
from tabterm.memory import Memory
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.hand.onsets import Phrase, Start
    from tabterm.score.model import Score

KEPT_SCORES = 4  #: scores; implementation limit
"""Scores whose phrases are remembered: the player's, and pieces of it on which something is tried."""


@dataclass(frozen=True, eq=False)
class Phrasing:
    """The phrases of a score, and where and how each begins."""

    score: Score
    starts: tuple[Start, ...] = ()
    phrases: tuple[Phrase, ...] = ()

    def carried_to(self, score: Score) -> Phrasing:
        """The phrases of another score: these ones as far as its measures are the same objects."""
        front, back = self.shared(score)
        behind = len(score.measures) - back
        number = max(self._number(Place(front)) - 1, 0)
        starts, phrases = list(self.starts[:number]), list(self.phrases[:number])
        for start, phrase in walk(score, self.starts[number] if self._number(Place(front)) else BEGIN):
            if start.place.measure >= behind:
                number = self._number(start.place)
                if self.starts[number : number + 1] == (start,):
                    starts += self.starts[number:]
                    phrases += self.phrases[number:]
                    break
            starts.append(start)
            phrases.append(phrase)
        return Phrasing(score, tuple(starts), tuple(phrases))

    def shared(self, score: Score) -> tuple[int, int]:
        """How many measures at the front and at the back are another score's too, there and at that tempo."""
        pairs = (self.score.measures, score.measures), (self.score.tempos, score.tempos)
        front = min(sum(takewhile(bool, map(is_, mine, others))) for mine, others in pairs)
        if len(self.score.measures) != len(score.measures):
            return front, 0
        return front, min(sum(takewhile(bool, map(is_, mine[::-1], others[::-1]))) for mine, others in pairs)

    def _number(self, place: Place) -> int:
        """How many phrases begin before a place."""
        return bisect_left(self.starts, place, key=lambda start: start.place)


_RECENT: Memory[Phrasing] = Memory(
    "phrases", hangs_on="a score; carried on from the one most like it", most=KEPT_SCORES
)


def phrases(score: Score) -> tuple[Phrase, ...]:
    """The phrases of a score, in order; the same objects as in the score before, as far as nothing has changed."""
    recent = _RECENT.latest()
    known = max(recent, key=lambda each: sum(each.shared(score)), default=Phrasing(score))
    found = known if known.score is score and known in recent else known.carried_to(score)
    if 2 * sum(known.shared(score)) >= len(score.measures):
        _RECENT.drop(id(known.score))
    return _RECENT.keep(id(score), found).phrases
