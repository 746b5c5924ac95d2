"""Learning from the player: weights move so that the search comes nearer to the fingers that were set.

Path-difference learning (the idea: Radisavljevic and Driessen 2004, ICMC, "Path Difference Learning for Guitar
Fingering Problem"): where the best way with the player's choices differs from the best way without them, the
terms of which the player's way has more become lighter, and those of which it has less heavier.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from tabterm.hand.fingering import fingering
from tabterm.hand.proposals import free_fingers
from tabterm.hand.terms import LIMITS, TERMS, Weights
from tabterm.score.place import Span

if TYPE_CHECKING:
    from tabterm.hand.fingering import Fingering
    from tabterm.hand.player import Player
    from tabterm.score.model import Score

RATE = 0.04  #: natural logarithm; tuned here
"""How far one lesson moves a weight, as a natural logarithm for one amount of difference a phrase (chosen so that
about ten lessons of one kind turn a choice that costs half a point)."""

MOST = 0.2  #: natural logarithm; tuned here
"""The furthest that one lesson moves any weight, as a natural logarithm."""

UNTOUCHED = frozenset({"law", "moved"})
"""Terms that are not the player's taste."""


def learn(score: Score, player: Player) -> Player:
    """The player with weights that agree better with the fingers set in a score; or, with nothing to learn, as is.

    Phrases in which a choice cannot be done are left out. Weights stay within `LIMITS` of the standard ones,
    and negative ones (ease, not effort) do not grow.
    """
    chosen = fingering(score, player)
    everything = Span.of_measures(0, len(score.measures))
    proposed = fingering(free_fingers(score, everything), player)
    difference = _difference(chosen, proposed)
    if not difference:
        return player
    factors = dict(player.weights.factors)
    for name, amount in difference.items():
        step = max(-MOST, min(MOST, -RATE * amount))
        low, high = LIMITS
        if TERMS[name].weight < 0:
            step, high = -step, 1.0
        factors[name] = round(min(max(factors.get(name, 1.0) * math.exp(step), low), high), 4)
    return player.with_(weights=Weights.of(factors))


def _difference(chosen: Fingering, proposed: Fingering) -> dict[str, float]:
    """Amounts of each term that the player's ways have more than the proposed ones."""
    difference: dict[str, float] = {}
    for ours, theirs in zip(proposed.phrases, chosen.phrases, strict=True):
        if [hold.grip for hold in ours.holds] == [hold.grip for hold in theirs.holds]:
            continue
        sums: dict[str, float] = {}
        for solved, sign in ((theirs, 1.0), (ours, -1.0)):
            for number in range(len(solved.phrase)):
                for name, amount in solved.amounts(number):
                    sums[name] = sums.get(name, 0.0) + sign * amount
        if sums.get("law", 0.0) > 0.5:
            continue
        for name, amount in sums.items():
            if name not in UNTOUCHED and abs(amount) > 1e-9:
                difference[name] = difference.get(name, 0.0) + amount
    return difference
