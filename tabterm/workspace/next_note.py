"""The note that is written next: its value, and what has been said about it before its fret is typed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tabterm.score.duration import EIGHTH, Duration
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from tabterm.score.kinds import Direction


@dataclass(frozen=True, slots=True)
class Pending:
    """What has been said about the next note before its fret is typed; shown at the cursor.

    Attributes:
        reached: It is slurred from the note before.
        tens: Added to the digit: 10 or 20.
        stack: It joins the event before the cursor instead of following it.
        muted: It is a dead note.
        slide_in: It is slid into from no particular fret.
        grace: It is a grace note of the event at the cursor.
    """

    reached: Reached = Reached.STRUCK
    tens: int = 0
    stack: bool = False
    muted: bool = False
    slide_in: Direction | None = None
    grace: bool = False


NOTHING_PENDING = Pending()


@dataclass
class NextNote:
    """What the next digit writes.

    Attributes:
        step: Its value, by which the cursor also moves.
        pending: What has been said about it.
    """

    step: Duration = EIGHTH
    pending: Pending = NOTHING_PENDING

    def expect(self, **changes: object) -> None:
        """Say something about it, beside what was said already."""
        self.pending = replace(self.pending, **changes)  # type: ignore[arg-type]
