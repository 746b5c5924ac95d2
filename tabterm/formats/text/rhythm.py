"""The words of a row of durations."""

from __future__ import annotations

import re

from tabterm.errors import ScoreError
from tabterm.score.duration import TRIPLET, Duration

LETTERS = {"w": 1, "h": 2, "q": 4, "e": 8, "s": 16, "t": 32}
"""Note values by the letters that players write over a tab (common practice, no source)."""

_LETTER = re.compile(r"^([whqest])(\.{0,2})$", re.IGNORECASE)


def read_duration(text: str) -> Duration | None:
    """The duration of a word of a rhythm row (or of a letter, `q.`), or None."""
    letter = _LETTER.match(text)
    if letter is not None:
        return Duration(LETTERS[letter.group(1).lower()], len(letter.group(2)))
    try:
        if text.endswith("t"):
            return Duration.parse(text[:-1]).in_tuplet(TRIPLET)
        return Duration.parse(text)
    except ScoreError:
        return None
