"""JSON and TOML, parsed with limits: a file of the user's or of ours never harms the program that reads it."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_BYTES = 1_000_000
"""Of a settings file."""

MOST_DEPTH = 32
"""Lists and tables inside each other: a change in a journal nests about ten."""

MOST_VALUES = 1_500_000
"""Objects, lists and what commas part, counted before any of it is made (measured here: 200 MB at most)."""

_BRACKETS = re.compile(
    r'"""(?:[^\\]|\\.)*?"""|"(?:[^"\\\n]|\\.)*"|\'\'\'.*?\'\'\'|\'[^\'\n]*\'|#[^\n]*|[\[{]|[\]}]', re.DOTALL
)
"""Brackets, and what hides some: the strings of both languages and the notes of TOML."""

_LONG_NUMBER = re.compile(r"[0-9](?:_?[0-9]){4300}")
"""Python reads whole numbers of up to 4,300 digits."""

_LINE = re.compile(r"\bline (\d+)")


def json_of(
    data: bytes, *, depth: int | None = MOST_DEPTH, objects: Callable[[list[tuple[str, Any]]], Any] | None = None
) -> Any:
    """The value in a JSON text.

    Args:
        data: The text, in UTF-8.
        depth: How deeply lists and objects may nest; None where the reader of the value sees to that.
        objects: Makes an object of its pairs.

    Raises:
        FormatError: It is not JSON, nests too deeply, holds too much, or has a number of thousands of digits or
            without a value. The place is its line.
    """
    text = _text(data)
    if sum(map(data.count, (b",", b"[", b"{"))) > MOST_VALUES:
        raise FormatError("the file has too many values", hint=f"at most {MOST_VALUES} values")
    if depth is not None:
        _check_depth(text, depth)
    try:
        return json.loads(text, parse_constant=no_constant, object_pairs_hook=objects)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise FormatError(f"not JSON: {error.msg}", place=place, hint="fix the line by hand") from None
    except RecursionError:
        raise FormatError("nested too deeply", hint="fix it by hand") from None
    except ValueError:
        raise _too_long(text) from None


def toml_of(data: bytes) -> dict[str, Any]:
    """The tables of a TOML text; raises FormatError as `json_of`."""
    text = _text(data)
    if not text:
        return {}
    _check_depth(text, MOST_DEPTH)
    import tomllib

    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        told = _LINE.search(str(error))
        line = int(told[1]) if told else text.rstrip().count("\n") + 1
        raise FormatError(f"not TOML: {error}", place=f"line {line}", hint="fix that line") from None
    except ValueError:
        raise _too_long(text) from None


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise FormatError("not UTF-8 text", place=f"line {line}", hint="save it as UTF-8") from None


def _check_depth(text: str, most: int) -> None:
    """Raise FormatError at the line where brackets nest more deeply than that."""
    depth = 0
    for match in _BRACKETS.finditer(text):
        sign = match[0]
        depth += (sign in "[{") - (sign in "]}")
        if depth > most:
            line = text.count("\n", 0, match.start()) + 1
            raise FormatError("nested too deeply", place=f"line {line}", hint=f"at most {most} levels")


def no_constant(name: str) -> float:
    """Refuse what JSON has no word for, such as `NaN`; raises FormatError."""
    raise FormatError(f"not a number: {name}", hint="fix it by hand")


def _too_long(text: str) -> FormatError:
    """What to say of a number that is refused for its thousands of digits."""
    found = _LONG_NUMBER.search(text)
    place = f"line {text.count(chr(10), 0, found.start()) + 1}" if found else ""
    return FormatError("a number is too long", place=place, hint="fix it by hand")
