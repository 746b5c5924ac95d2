"""The registry of commands: one table that the keys, the palette, the help and the documents are drawn from."""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol, cast

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.workspace.session import Session


class Group(StrEnum):
    """Headings of the help screen and of the key table."""

    MOVE = "Moving"
    WRITE = "Writing"
    RHYTHM = "Rhythm"
    LEFT = "Left hand"
    FINGERS = "Fingers"
    STROKES = "Pick strokes"
    SELECT = "Selecting and copying"
    MEASURES = "Measures"
    SCORE = "The whole score"
    ORIGINAL = "The original line"
    HEAR = "Hearing"
    PRACTISE = "Practising"
    FINDINGS = "Findings"
    FILE = "File and screen"


class Rows(StrEnum):
    """The rows that a command writes on; on another it does nothing but say so."""

    ANY = "any"
    COURSES = "courses"
    NOTES = "notes"
    """Those of which what stands on them belongs to a note: courses, fingers, strokes."""


class Action(Protocol):
    """What a command does to a session; the word is its argument, "" when it takes none."""

    def __call__(self, session: Session, word: str, /) -> None:
        """Carry the command out."""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing the player can ask for.

    Attributes:
        name: Kebab-case; what key bindings and the configuration file say.
        title: What it does, as one line of help.
        group: Heading under which help shows it.
        run: The action.
        takes_word: It needs an argument.
        asks: The question put to the player when the word is not given with the key.
        suggests: Proposes an answer to that question.
        keeps_pending: What was said about the next note still holds after it.
        rows: The rows that it writes on.
    """

    name: str
    title: str
    group: Group
    run: Action
    takes_word: bool = False
    asks: str = ""
    suggests: Callable[[Session], str] | None = None
    keeps_pending: bool = False
    rows: Rows = Rows.ANY


REGISTRY: dict[str, Command] = {}
"""Every command by name, in the order of the help; filled when `tabterm.workspace.commands` is imported."""


def command(
    name: str,
    title: str,
    group: Group,
    *,
    asks: str = "",
    suggests: Callable[[Session], str] | None = None,
    keeps_pending: bool = False,
    rows: Rows = Rows.ANY,
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Enter a function of a session, or of a session and a word, in the registry."""

    def enter(function: Callable[..., None]) -> Callable[..., None]:
        takes_word = len(inspect.signature(function).parameters) == 2
        if name in REGISTRY:
            raise ValueError(f"two commands are called {name}")

        def without_word(session: Session, _word: str, /) -> None:
            function(session)

        action = cast("Action", function) if takes_word else without_word
        REGISTRY[name] = Command(name, title, group, action, takes_word, asks, suggests, keeps_pending, rows)
        return function

    return enter
