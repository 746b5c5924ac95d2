"""The lines of marks before a system: `= 5 section "A" metre 3/4 ending 1,2 remark "slow"`."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError, TabtermError
from tabterm.score.key import MODE_FIFTHS, Key
from tabterm.score.metre import Metre
from tabterm.score.tempo import Tempo

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.model import Measure

_MODES = "|".join(MODE_FIFTHS)
_VALUE = rf'"(?:[^"\\]|\\.)*"|[^\s"]+(?: (?:{_MODES}))?'
_WORD = re.compile(rf"\s*([a-z]+)(?:\s+({_VALUE}))?")
_LINE = re.compile(r"^= (\d+)\s+(.*)$")


def marks_line(measure: Measure, number: int) -> str:
    """The line of a measure's marks; "" where it has none. Numbers count measures from 1."""
    words: list[str] = []
    if measure.short:
        words.append("short yes")
    if measure.section:
        words.append(f"section {json.dumps(measure.section)}")
    changes = {"metre": measure.metre, "key": measure.key, "tempo": measure.tempo}
    words += [f"{name} {value}" for name, value in changes.items() if value is not None]
    if measure.endings:
        words.append(f"ending {','.join(map(str, measure.endings))}")
    if measure.repeat_times > 2:
        words.append(f"times {measure.repeat_times}")
    if measure.remark:
        words.append(f"remark {json.dumps(measure.remark)}")
    return f"= {number} {' '.join(words)}" if words else ""


def read_marks_line(line: str) -> tuple[int, dict[str, Any]] | None:
    """(measure number, fields) of a line of marks, or None where it is something else.

    Raises:
        FormatError: A mark is unknown or has no sensible value.
    """
    match = _LINE.match(line)
    if match is None:
        return None
    fields: dict[str, Any] = {}
    text = match.group(2).rstrip()
    at = 0
    while at < len(text):
        word = _WORD.match(text, at)
        if word is None or word.group(1) not in _READ or word.group(2) is None:
            raise FormatError(f"'{text[at:].strip()}' is no mark", hint=f"marks: {', '.join(_READ)}")
        name, value = word.groups()
        try:
            fields |= _READ[name](value)
        except (TabtermError, ValueError) as error:
            raise FormatError(f"'{value}' is no {name}: {error}") from None
        at = word.end()
    return int(match.group(1)), fields


def _string(value: str) -> str:
    return str(json.loads(value))


_READ: dict[str, Callable[[str], dict[str, Any]]] = {
    "short": lambda value: {"short": value == "yes"},
    "section": lambda value: {"section": _string(value)},
    "metre": lambda value: {"metre": Metre.parse(value)},
    "key": lambda value: {"key": Key.parse(value)},
    "tempo": lambda value: {"tempo": Tempo.parse(value)},
    "ending": lambda value: {"endings": tuple(int(part) for part in value.split(","))},
    "times": lambda value: {"repeat_times": int(value)},
    "remark": lambda value: {"remark": _string(value)},
}
