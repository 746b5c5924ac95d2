"""The curve of difficulty along a score, for a row of the editor: how far each event uses the player up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.difficulty import Playing
from tabterm.hand.fingering import KEPT_PHRASES
from tabterm.hand.leisure import give_way
from tabterm.memory import Memory
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from tabterm.hand.fingering import Fingering, Solved
    from tabterm.score.model import Score

Levels = dict["Fraction", float]
"""For each event of a measure, by its offset, the part of the player's limit that is used: 1 at the limit."""

_LEVELS: Memory[dict[int, Levels]] = Memory(
    "difficulty", hangs_on="a solved phrase, the metres and tempos of its measures, a pickup", most=KEPT_PHRASES
)


def curve(score: Score, hand: Fingering) -> Mapping[int, Levels]:
    """The levels of each measure in which something sounds, by its index, given the fingering of the score.

    A phrase that is known by identity is not looked at again, so that an edit costs its own phrase only.
    """
    found: dict[int, Levels] = {}
    for solved in hand.phrases:
        give_way()
        for index, levels in _of_phrase(score, solved).items():
            found[index] = found[index] | levels if index in found else levels
    return found


def _of_phrase(score: Score, solved: Solved) -> dict[int, Levels]:
    first, end = solved.phrase[0].place.measure, solved.phrase[-1].place.measure + 1
    beats = score.metres[first:end], score.tempos[first:end], lead_in(score, first)
    return _LEVELS.of((solved,), beats, lambda: _worked_out(Playing.of(score, solved)))


def _worked_out(playing: Playing) -> dict[int, Levels]:
    found: dict[int, Levels] = {}
    for onset, level in zip(playing.solved.phrase, playing.uses(), strict=True):
        levels = found.setdefault(onset.place.measure, {})
        levels[onset.place.offset] = max(levels.get(onset.place.offset, 0.0), level)
    return found
