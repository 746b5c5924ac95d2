"""Key bindings as data: which key runs which command on which row, and the player's own changes to them.

A key is written as the character it types (`h`, `+`) or by name (`left`, `ctrl+s`, `shift+right`, `f5`).
A binding is a command's name, with its word behind it where it takes one: `course 2`.
"""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from tabterm.errors import ConfigurationError
from tabterm.page.rows import EDITABLE
from tabterm.workspace import commands  # noqa: F401 - importing it fills the registry
from tabterm.workspace.registry import REGISTRY

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

ANYWHERE = "anywhere"
CONTEXTS = (ANYWHERE, *(row.name for row in EDITABLE))
"""`anywhere`, and the rows whose own bindings go before it."""

DEFAULT_KEYS: dict[str, dict[str, str]] = {
    ANYWHERE: {
        "left": "left",
        "right": "right",
        "up": "up",
        "down": "down",
        "a": "course 1",
        "s": "course 2",
        "d": "course 3",
        "f": "course 4",
        "g": "row finger",
        "v": "row stroke",
        "c": "row chord",
        "m": "row remark",
        "ctrl+right": "next-beat",
        "ctrl+left": "previous-beat",
        "tab": "next-measure",
        "shift+tab": "previous-measure",
        "home": "measure-start",
        "end": "measure-end",
        "ctrl+home": "score-start",
        "ctrl+end": "score-end",
        "pageup": "page-up",
        "pagedown": "page-down",
        "ctrl+g": "go-to",
        **{str(number): f"digit {number}" for number in range(10)},
        "'": "ten",
        "+": "stack",
        "A": "stack-above",
        "`": "grace",
        "r": "rest",
        "-": "hold",
        "=": "tie",
        "n": "again",
        "G": "shape-here",
        "delete": "delete",
        "backspace": "take-back",
        "insert": "insert-time",
        "ctrl+d": "delete-time",
        "escape": "drop",
        "w": "step 1",
        "i": "step 2",
        "q": "step 4",
        "e": "step 8",
        "y": "step 16",
        "z": "step 32",
        "[": "longer-step",
        "]": "shorter-step",
        "t": "triplet-step",
        ".": "dot",
        ",": "dotted-step",
        "l": "length",
        "R": "values",
        "T": "rhythm-before",
        "$": "tap",
        "k": "split",
        "j": "join",
        "h": "hammer-on",
        "p": "pull-off",
        "/": "slide",
        "\\": "slide",
        "b": "bend",
        "x": "mute",
        "~": "vibrato",
        "o": "let-ring",
        ">": "accent",
        ":": "staccato",
        "%": "tremolo",
        "^": "slide-into",
        "_": "slide-out",
        "O": "other-finger",
        "W": "why-finger",
        "H": "hold-course",
        "D": "stroke-down",
        "U": "stroke-up",
        "N": "stroke-none",
        ";": "mark",
        "shift+right": "select-right",
        "shift+left": "select-left",
        "M": "select-measure",
        "P": "select-phrase",
        "ctrl+c": "copy",
        "ctrl+x": "cut",
        "ctrl+v": "paste",
        "ctrl+o": "copy-out",
        "ctrl+k": "copy-to",
        "ctrl+f": "paste-from",
        "ctrl+t": "measures-again",
        "ctrl+r": "form-again",
        "*": "duplicate",
        "(": "to-higher-course",
        ")": "to-lower-course",
        "I": "insert-measure",
        "X": "delete-measures",
        "{": "repeat-start",
        "}": "repeat-end",
        "|": "barline",
        "S": "section",
        "space": "play",
        "f5": "play-all",
        "f6": "loop",
        "f7": "slower",
        "f8": "faster",
        "f9": "click",
        "enter": "play-on",
        "ctrl+u": "explain",
        "ctrl+n": "neck-map",
        "ctrl+w": "phrase-book",
        "Q": "hear-original",
        "J": "next-departure",
        "Z": "restore",
        "@": "stop-here",
        "<": "half-speed",
        "#": "count-in",
        "C": "parts",
        "L": "last-loop",
        "f4": "ladder",
        "F": "follow",
        "K": "put-aside",
        "V": "version",
        "Y": "practice-log",
        "f12": "recording",
        "B": "hear-record",
        "!": "next-finding",
        '"': "previous-finding",
        "&": "remedy",
        "f2": "findings",
        "f3": "toggle-neck",
        "E": "toggle-row effort",
        "u": "undo",
        "ctrl+z": "undo",
        "ctrl+y": "redo",
        "ctrl+s": "save",
        "ctrl+e": "sheet",
        "ctrl+q": "quit",
        "?": "help",
        "ctrl+p": "find-command",
        "ctrl+l": "redraw",
    },
    **{row.name: dict(row.keys) for row in EDITABLE},
}

NAMED_KEYS = frozenset(
    {
        *("left", "right", "up", "down", "home", "end", "pageup", "pagedown", "insert", "delete"),
        *("tab", "enter", "escape", "backspace", "space"),
        *(f"f{number}" for number in range(1, 13)),
    }
)
"""Keys that have no character, by the name used here."""

MODIFIERS = ("shift+", "ctrl+")


class Keymap:
    """The bindings in force: the defaults, with the player's own over them.

    Attributes:
        bindings: By row and key.
        faults: Why some of the player's own are left out.
    """

    def __init__(
        self, own: Mapping[str, Mapping[str, str]] | None = None, place_of: Callable[[str], str] = str
    ) -> None:
        """Lay `own` (row name -> key -> binding, "" to unbind) over the defaults; what cannot be used is left out.

        `place_of` tells the file and line of a row or key, for the messages.
        """
        self.bindings = {context: dict(keys) for context, keys in DEFAULT_KEYS.items()}
        self.faults: list[ConfigurationError] = []
        for context, keys in (own or {}).items():
            if context not in CONTEXTS:
                hint = f"one of: {', '.join(CONTEXTS)}"
                self._refuse(f"no row '{context:.40}' to bind keys on", hint, place_of(context))
                continue
            for key, binding in keys.items():
                try:
                    check_binding(key, binding)
                except ConfigurationError as error:
                    self._refuse(error.message, error.hint, place_of(key))
                    continue
                if binding:
                    self.bindings[context][key] = binding
                else:
                    self.bindings[context].pop(key, None)

    def _refuse(self, message: str, hint: str, place: str) -> None:
        self.faults.append(ConfigurationError(message, hint=hint, place=place))

    def find(self, row: str, key: str) -> str | None:
        """The binding of a key on a row, or None."""
        return self.bindings.get(row, {}).get(key) or self.bindings[ANYWHERE].get(key)

    def keys_of(self, command: str) -> tuple[tuple[str, str, str], ...]:
        """Every (context, key) that runs a command, with the word that the key does not say itself, or ""."""
        parts = (
            (context, key, *binding.partition(" ")[::2])
            for context, keys in self.bindings.items()
            for key, binding in keys.items()
        )
        return tuple(
            (context, key, word if word != key else "") for context, key, name, word in parts if name == command
        )


def check_binding(key: str, binding: str) -> None:
    """Raise ConfigurationError for a key that is none, or a binding to no command."""
    bare = key
    for modifier in MODIFIERS:
        bare = bare.removeprefix(modifier)
    if len(bare) != 1 and bare not in NAMED_KEYS:
        raise ConfigurationError(f"no key '{key:.40}'", hint="a character, or a name such as left, ctrl+s, f5")
    name, _, word = binding.partition(" ")
    if not binding:
        return
    if name not in REGISTRY:
        close = difflib.get_close_matches(name, REGISTRY, n=1)
        hint = f"did you mean '{close[0]}'?" if close else "`tabterm keys` lists the commands"
        raise ConfigurationError(f"key '{key}': no command '{name:.40}'", hint=hint)
    if word and not REGISTRY[name].takes_word:
        raise ConfigurationError(f"key '{key}': the command '{name}' takes no word")
