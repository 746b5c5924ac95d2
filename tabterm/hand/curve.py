"""The curve of difficulty along a score, for a row of the editor: how far each event uses the player up."""

from __future__ import annotations

from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from tabterm.hand.difficulty import Playing
from tabterm.hand.leisure import give_way

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from tabterm.hand.fingering import Fingering, Solved
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score

Levels = dict["Fraction", float]
"""For each event of a measure, by its offset, the part of the player's limit that is used: 1 at the limit."""

_known: WeakKeyDictionary[Solved, tuple[tuple[Metre, ...], dict[int, Levels]]] = WeakKeyDictionary()
"""Phrases that were looked at, with the metres of their measures and what was found; tempos are in their gaps."""


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
    metres = score.metres[solved.phrase[0].place.measure : solved.phrase[-1].place.measure + 1]
    known = _known.get(solved)
    if known is None or known[0] != metres:
        known = _known[solved] = metres, _worked_out(Playing.of(score, solved))
    return known[1]


def _worked_out(playing: Playing) -> dict[int, Levels]:
    found: dict[int, Levels] = {}
    for onset, level in zip(playing.solved.phrase, playing.uses(), strict=True):
        levels = found.setdefault(onset.place.measure, {})
        levels[onset.place.offset] = max(levels.get(onset.place.offset, 0.0), level)
    return found
