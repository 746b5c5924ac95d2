"""Whose hands play: one value that travels whole, so that a score is the same to every command and the editor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.terms import Weights
from tabterm.score.profile import REFERENCE_HAND, HandProfile
from tabterm.values import Value

if TYPE_CHECKING:
    from tabterm.score.model import Head


class Player(Value):
    """All that is known of a player's hands; by default an adult of whom nothing is known.

    No function that needs a player has a default for it: to forget it is an error of type.

    Attributes:
        hand: How far the hands reach and how fast they move.
        weights: What the left hand finds hard, with what was learnt from the player's own fingers.
        learns: Whether more is learnt from fingers that the player sets against a proposal.
    """

    hand: HandProfile = REFERENCE_HAND
    weights: Weights = Weights()
    learns: bool = True

    def at(self, head: Head) -> Player:
        """The player as a score has it: a hand of its own stands for the player's. Nothing else decides that."""
        return self if head.hand is None else self.with_(hand=head.hand)
