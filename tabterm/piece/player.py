"""Whose hands: the player whose configuration this is, with what was learnt, or one of whom nothing is known."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Self

import platformdirs

from tabterm.errors import FormatError, StorageError
from tabterm.hand.player import Player as Hands
from tabterm.hand.terms import HABITS, LIMITS, Weights
from tabterm.parsing import MOST_BYTES, json_of
from tabterm.storage import opening
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from tabterm.hand.learning import Lesson
    from tabterm.piece.configuration import Configuration
    from tabterm.score.model import Score


def learnt_file() -> Path:
    """Where the lessons are kept, and the habits that they teach."""
    return platformdirs.user_data_path("tabterm") / "habits.json"


def learnt_weights() -> Weights:
    """The weights in force: the standard ones, and the habits that were learnt.

    A file that cannot be read or does not fit counts as none; names and values out of bounds are left out.
    """
    low, high = LIMITS
    habits = _numbers(_kept().get("habits"))
    return Weights.of({name: points for name, points in habits.items() if low <= points <= high})


def learnt_lessons() -> tuple[Lesson, ...]:
    """The lessons behind it; what does not fit is left out."""
    from tabterm.hand.learning import Lesson

    found = _kept().get("lessons")
    lessons = []
    for each in found if isinstance(found, list) else ():
        values = _numbers(each, ("points", "weight"))
        if len(values) == 2 and (habits := _numbers(each.get("habits"))):
            lessons.append(Lesson(values["points"], habits, values["weight"]))
    return tuple(lessons)


def _kept() -> dict[str, Any]:
    try:
        found = json_of(opening.read(learnt_file(), most=MOST_BYTES))
    except (OSError, FormatError):
        return {}
    return found if isinstance(found, dict) else {}


def _numbers(found: object, names: Iterable[str] = HABITS) -> dict[str, float]:
    """The numbers under these names."""
    if not isinstance(found, dict):
        return {}
    return {name: float(found[name]) for name in names if isinstance(found.get(name), int | float)}


def keep_learnt(lessons: Sequence[Lesson]) -> Weights:
    """Keep lessons, in place of those that were kept; none: the file goes away. Gives the weights they teach.

    Raises:
        StorageError: The disk refused.
    """
    from tabterm.hand.learning import taught

    file, weights = learnt_file(), taught(lessons)
    try:
        if not lessons:
            file.unlink(missing_ok=True)
            return weights
        opening.make_own_folder(file.parent)
    except OSError as error:
        raise StorageError(f"learnt habits cannot be saved: {error.strerror or error}", place=str(file)) from error
    kept = {"habits": weights.habits, "lessons": [lesson._asdict() for lesson in lessons]}
    atomic_write(file, json.dumps(kept).encode() + b"\n")
    return weights


def learn(score: Score, player: Hands) -> Hands:
    """The player with the habits that a score and all that was learnt before teach; as is where it is nothing new.

    Raises:
        StorageError: The disk refused.
    """
    from tabterm.hand.learning import study

    known = learnt_lessons()
    lessons = study(score, player, known)
    return player if lessons == known else player.with_(weights=keep_learnt(lessons))


def take_back(habit: str) -> None:
    """Forget a habit: the lessons that speak of it above all, and what the others say of it.

    Raises:
        StorageError: The disk refused.
    """
    from tabterm.hand.learning import without

    keep_learnt(without(learnt_lessons(), habit))


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
