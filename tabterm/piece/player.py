"""Whose hands: the player whose configuration this is, with what was learnt, or one of whom nothing is known."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Self

import platformdirs

from tabterm.errors import FormatError, StorageError
from tabterm.hand.player import Player as Hands
from tabterm.hand.terms import LIMITS, TERMS, Weights
from tabterm.parsing import MOST_BYTES, json_of
from tabterm.storage import opening
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    from pathlib import Path

    from tabterm.piece.configuration import Configuration


def learnt_file() -> Path:
    """Where the factors of the weights are kept."""
    return platformdirs.user_data_path("tabterm") / "fingering-weights.json"


def learnt_weights() -> Weights:
    """The weights in force: the standard ones, times what was learnt.

    A file that cannot be read or does not fit counts as none; names and values out of bounds are left out.
    """
    try:
        found = json_of(opening.read(learnt_file(), most=MOST_BYTES))
    except (OSError, FormatError):
        return Weights()
    return Weights.of(_sound(found))


def _sound(found: object) -> dict[str, float]:
    if not isinstance(found, dict):
        return {}
    low, high = LIMITS
    return {
        name: float(factor)
        for name, factor in found.items()
        if name in TERMS and isinstance(factor, int | float) and low <= factor <= high
    }


def keep_learnt(weights: Weights) -> None:
    """Keep what was learnt; nothing: the file goes away.

    Raises:
        StorageError: The disk refused.
    """
    file = learnt_file()
    try:
        if not weights.factors:
            file.unlink(missing_ok=True)
            return
        opening.make_own_folder(file.parent)
    except OSError as error:
        raise StorageError(
            f"what was learnt cannot be kept: {error.strerror or error}", place=str(file)
        ) from error
    atomic_write(file, json.dumps(dict(weights.factors), indent=2).encode() + b"\n")


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
        return cls(hand=settings.hand, weights=learnt_weights(), learns=settings.fingering.learn)
