"""The player whose configuration this is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.player import Player
from tabterm.workspace import learnt

if TYPE_CHECKING:
    from tabterm.workspace.configuration import Configuration


def of(settings: Configuration) -> Player:
    """The player of a configuration, with what was learnt."""
    return Player(hand=settings.hand, weights=learnt.weights(), learns=settings.fingering.learn)
