"""What of a recording is heard: one side of it, what both share, a balance, a register brought forward."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import ClassVar, Self

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.values import TextValue

EAR_PERCENT = 100
"""Balance at which one ear hears nothing."""

HIGHEST_HZ = 20_000.0
"""Of a register."""

HINT = "centre, left balance -20, sides 190-1400"

_HZ = r"\d{1,5}(?:\.\d{1,3})?"
_SIDES = "both|left|right|centre|sides"
_TEXT = re.compile(
    rf"^(?:({_SIDES})\b)?\s*(?:balance\s+([+-]?\d{{1,3}})\b)?\s*(?:({_HZ})-({_HZ})(?:\s*Hz)?)?$",
    re.IGNORECASE | re.ASCII,
)


class Side(StrEnum):
    """Which of the two channels."""

    BOTH = "both"
    LEFT = "left"
    RIGHT = "right"
    CENTRE = "centre"
    SIDES = "sides"


@dataclass(frozen=True, slots=True)
class RecordMix(TextValue):
    """What of a recording is heard; text form `both`, `centre 190-1400`, `left balance -40`.

    Attributes:
        side: Of the two channels.
        balance: -100 (left only) to 100 (right only): the other side gets softer.
        register: From and to which Hz is brought forward; None: none is.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    side: Side = Side.BOTH
    balance: int = 0
    register: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if abs(self.balance) > EAR_PERCENT:
            raise ScoreError(f"not a balance: {self.balance}", hint="-100 (left only) to 100 (right only)")
        if self.register is not None and not 0 <= self.register[0] < self.register[1] <= HIGHEST_HZ:
            raise ScoreError("not a register", hint=f"Hz from and to, such as 190-1400, up to {HIGHEST_HZ:.0f}")

    def __str__(self) -> str:
        balance = f" balance {self.balance}" if self.balance else ""
        register = f" {self.register[0]:g}-{self.register[1]:g}" if self.register else ""
        return f"{self.side}{balance}{register}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read the text form, empty for all as it is; raises ScoreError when it is not one."""
        match = _TEXT.match(text.strip())
        if match is None:
            raise ScoreError(f"not a way to hear a recording: '{text:.40}'", hint=HINT)
        side, balance, low, high = match.groups()
        register = (float(low), float(high)) if low else None
        return cls(Side((side or "both").lower()), int(balance or 0), register)


AS_IT_IS = RecordMix()
"""Both sides, evenly, no register forward."""
