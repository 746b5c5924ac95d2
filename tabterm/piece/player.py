"""Whose hands: the player whose configuration this is, with what was learnt, or one of whom nothing is known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from tabterm.hand.player import Player as Hands

if TYPE_CHECKING:
    from tabterm.piece.configuration import Configuration


class Player(Hands):
    """A player. `Player()` is an adult of whom nothing is known, the same on every machine."""

    @classmethod
    def mine(cls) -> Self:
        """The player whose configuration this is, with what the program has learnt.

        Raises:
            ConfigurationError: The configuration cannot be used.
        """
        from tabterm.piece import configuration

        return cls.of(configuration.load())

    @classmethod
    def of(cls, settings: Configuration) -> Self:
        """The player of a configuration, with what was learnt."""
        from tabterm.piece import learnt

        return cls(hand=settings.hand, weights=learnt.weights(), learns=settings.fingering.learn)
