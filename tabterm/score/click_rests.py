"""Measures in which a click rests, so that one keeps time alone there."""

from __future__ import annotations

import re
from itertools import groupby
from typing import ClassVar, Self

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.values import TextValue

_TURN = re.compile(r"^([1-9]\d?)(?:\s*:\s*|\s+)([1-9]\d?)$", re.ASCII)
_CHOSEN = re.compile(r"^m\d{1,5}(-\d{1,5})?([\s,]+m?\d{1,5}(-\d{1,5})?)*$", re.ASCII)
_STRETCH = re.compile(r"(\d+)(?:-(\d+))?")
HINT = "2 1 to click for two measures and rest for one (1 to 99), or m3 m7-8 to name measures"


@dataclass(frozen=True, slots=True)
class ClickRests(TextValue):
    """When a click rests; text form `2:1` (two measures clicked, one without, in turn) or `m3 m7-8`.

    Attributes:
        turn: Measures clicked, then measures without, in turn; None where measures are chosen.
        measures: The chosen measures, by the player's numbers.
    """

    PATTERN: ClassVar[str] = f"({_TURN.pattern})|({_CHOSEN.pattern})"

    turn: tuple[int, int] | None = None
    measures: frozenset[int] = frozenset()

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read the text form; raises ScoreError when it is not one."""
        text = text.strip()
        if match := _TURN.match(text):
            return cls(turn=(int(match[1]), int(match[2])))
        named = _STRETCH.findall(text) if _CHOSEN.match(text) else []
        stretches = [(int(low), int(high or low)) for low, high in named]
        if not stretches or any(low > high for low, high in stretches):
            raise ScoreError(f"not measures for the click to rest in: '{text}'", hint=HINT)
        return cls(measures=frozenset(number for low, high in stretches for number in range(low, high + 1)))

    def __str__(self) -> str:
        if self.turn is not None:
            return f"{self.turn[0]}:{self.turn[1]}"
        runs = groupby(enumerate(sorted(self.measures)), key=lambda pair: pair[1] - pair[0])
        ends = [(run[0][1], run[-1][1]) for run in (list(group) for _, group in runs)]
        return " ".join(f"m{low}" if low == high else f"m{low}-{high}" for low, high in ends)

    @property
    def in_words(self) -> str:
        """What follows the word "click"."""
        return str(self) if self.turn else f"without {self}"

    def silent(self, played: int, number: int) -> bool:
        """Whether a measure is without a click: the how-manieth whole one played (from 0), and its own number."""
        if self.turn is None:
            return number in self.measures
        return played % sum(self.turn) >= self.turn[0]
