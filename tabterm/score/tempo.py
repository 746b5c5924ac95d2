"""Tempo: so many of a note value in a minute."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar, Self

from tabterm.errors import ScoreError
from tabterm.score.duration import QUARTER, Duration
from tabterm.values import TextValue

_TEXT = re.compile(r"^(?:(\d+\.{0,2})=)?(\d{1,3}(?:\.\d{1,3})?)$")
SLOWEST, FASTEST = 10.0, 400.0


@dataclass(frozen=True, slots=True)
class Tempo(TextValue):
    """A metronome mark; text form `4=104` (quarters) or `4.=112` (dotted quarters); `104` means quarters.

    Attributes:
        per_minute: Notes of that value in a minute, 10 to 400.
        beat: The note value counted.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    per_minute: float
    beat: Duration = QUARTER

    def __post_init__(self) -> None:
        if not SLOWEST <= self.per_minute <= FASTEST:
            raise ScoreError(f"a tempo of {self.per_minute:g} is out of range", hint="use 10 to 400")

    def __str__(self) -> str:
        return f"{self.beat}={self.per_minute:g}"

    @classmethod
    @lru_cache(maxsize=256)
    def parse(cls, text: str) -> Self:
        """Read a metronome mark; equal texts give the same object."""
        match = _TEXT.match(text.strip())
        if match is None:
            raise ScoreError(f"'{text}' is no tempo", hint="write 104 (quarters) or 4.=112 (dotted quarters)")
        beat, per_minute = match.groups()
        return cls(float(per_minute), Duration.parse(beat) if beat else QUARTER)

    @property
    def quarters_per_minute(self) -> float:
        """The tempo in quarters."""
        return self.per_minute * float(self.beat.length)
