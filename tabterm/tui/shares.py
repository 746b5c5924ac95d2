"""How the screen is shared out between the score and what stands round it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.tui.lines import Findings
from tabterm.tui.neck import Neck
from tabterm.tui.systems import has_source, rows_in

if TYPE_CHECKING:
    from tabterm.workspace.session import Session

LOWEST_WITH_NECK = 16
"""Lines of a screen that has room for the neck."""

LINES_OVER_SCORE = 3
"""Lines of the score that a long answer may cover until the next key."""


@dataclass(frozen=True, slots=True)
class Shares:
    """What each part has of the screen.

    Attributes:
        score: Cells and lines of the score.
        neck: Lines of the neck, 0 where it is left out.
        tall: The neck has a line for each course.
        below: Lines of the findings under the score.
        beside: Cells of the findings beside it.
    """

    score: tuple[int, int]
    neck: int
    tall: bool
    below: int
    beside: int

    @property
    def over(self) -> int:
        """Lines that a long answer may begin on, over its own."""
        return 2 * bool(self.neck) + (0 if self.below else LINES_OVER_SCORE)

    @classmethod
    def of(cls, columns: int, lines: int, session: Session) -> Shares:
        """Those of a screen of this size; the status line and the message always have one line each.

        A neck of one line is of the cursor's moment. While something sounds it gives way where another system has
        room then; else the score stays where it is.
        """
        shown, tall = session.shown, lines >= Neck.TALL_FROM
        has_neck = shown.neck and not shown.plain and lines >= LOWEST_WITH_NECK
        if has_neck and not tall and session.transport.playing:
            has_neck = _systems(session, lines - 2) == _systems(session, lines - 4)
        neck = session.score.head.instrument.course_count + 2 if tall else 2
        neck = neck if has_neck else 0
        beside = Findings.BESIDE if columns >= Findings.WIDE_FROM and not shown.plain else 0
        below = lines // Findings.SHARE if lines >= Findings.LOWEST and not beside else 0
        return cls((columns - beside, max(lines - 2 - neck - below, 0)), neck, tall, below, beside)


def _systems(session: Session, room: int) -> int:
    """Whole systems on so many lines."""
    return room // len(rows_in(session, room, has_source(session.score)))
