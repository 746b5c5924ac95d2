"""The tempo ladder: rungs from one tempo to another, climbed by itself after so many turns, or when told."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Self

from tabterm.errors import ScoreError
from tabterm.values import TextValue

if TYPE_CHECKING:
    from tabterm.score.tempo import Tempo

SLOWEST, FASTEST = 20.0, 200.0
"""Percent of the written tempo between which anything can be played."""

_NUMBER = r"\d{1,3}(?:\.\d{1,2})?"
_TEXT = re.compile(rf"^({_NUMBER}):({_NUMBER}):({_NUMBER})(?:x(\d{{1,2}}))?( ?bpm)?$", re.IGNORECASE)
HOW = "write START:END:STEP for a ladder climbed when told, 60:100:5x3 for 3 turns on each rung, 72:104:4x3bpm"


@dataclass(frozen=True, slots=True)
class Ladder(TextValue):
    """Tempos to be climbed; text form `60:100:5x3`, `60:100:5` (when told), `72:104:4x3bpm`.

    Attributes:
        start: The first rung, in percent of the written tempo, or in beats a minute as the tempo is written.
        end: The last rung; one below the start leads down.
        step: From rung to rung, more than 0; the last one is shorter where it does not come out even.
        turns: Turns on each rung before the next; None to stay until told.
        per_minute: The numbers are beats a minute.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    start: float
    end: float
    step: float
    turns: int | None = None
    per_minute: bool = False

    def __post_init__(self) -> None:
        if not self.step > 0:
            raise ScoreError("the steps of a ladder cannot be 0", hint=HOW)
        if self.turns is not None and self.turns < 1:
            raise ScoreError("a rung is played at least once", hint=HOW)
        if not self.per_minute:
            for percent in (self.start, self.end):
                check_percent(percent)

    def __str__(self) -> str:
        turns = f"x{self.turns}" if self.turns else ""
        unit = "bpm" if self.per_minute else ""
        return f"{self.start:g}:{self.end:g}:{self.step:g}{turns}{unit}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a ladder."""
        match = _TEXT.match(text.strip())
        if match is None:
            raise ScoreError(f"not a ladder: '{text}'", hint=HOW)
        start, end, step, turns, unit = match.groups()
        return cls(float(start), float(end), float(step), int(turns) if turns else None, per_minute=bool(unit))

    def rungs(self, tempo: Tempo) -> tuple[float, ...]:
        """The rungs in percent of a written tempo, start and end included.

        Raises:
            ScoreError: Beats a minute that are less than 20 or more than 200 percent of the written tempo.
        """
        way = self.end - self.start
        step = math.copysign(self.step, way)
        count = math.ceil(abs(way) / self.step - 1e-9)
        rungs = (*(self.start + number * step for number in range(count)), self.end)
        if not self.per_minute:
            return rungs
        percents = tuple(100.0 * rung / tempo.per_minute for rung in rungs)
        for percent in (percents[0], percents[-1]):
            check_percent(percent)
        return percents


def check_percent(percent: float) -> None:
    """Raise ScoreError for a tempo that cannot be played at."""
    if not SLOWEST <= percent <= FASTEST:
        raise ScoreError(f"cannot play at {percent:g} percent", hint=f"{SLOWEST:g} to {FASTEST:g}")
