"""Swing as a player writes it: `2:1` of eighths, `16 3:2` of sixteenths, or `off`."""

from __future__ import annotations

import re

from tabterm.errors import ScoreError
from tabterm.score.model import Swing

FORMS = "2:1, '16 3:2' for sixteenths, or off"
"""How swing is written."""

_SWING = re.compile(r"^(?:(8|16)\s+)?([1-9]\d?):([1-9]\d?)$")


def swing_of(text: str) -> Swing | None:
    """A swing such as `2:1` (of eighths) or `16 3:2`; `off` is none. Raises ScoreError for anything else."""
    if text.strip() == "off":
        return None
    match = _SWING.match(text.strip())
    if match is None:
        raise ScoreError(f"not a swing: '{text}'", hint=f"write {FORMS}")
    unit, long, short = match.groups()
    return Swing(unit=int(unit or 8), long=int(long), short=int(short))


def swing_words(swing: Swing | None) -> str:
    """The same the other way round."""
    if swing is None:
        return "off"
    return f"{swing.unit} {swing.long}:{swing.short}" if swing.unit != 8 else f"{swing.long}:{swing.short}"
