"""The editor's own screen: the score and the lines round it, as one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal

from tabterm.tui.lines import finding_line
from tabterm.tui.score_view import ScoreView
from tabterm.tui.shares import LOWEST_WITH_NECK, Shares
from tabterm.tui.widgets import Beside, MessageLine, NeckStrip, Outlook, StatusLine, TextLine

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.geometry import Size
    from textual.widget import Widget

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session

NARROWEST = 60
"""Cells of a line from which a sheet over the score need not take all of the screen."""


class Front:
    """The widgets that stand in one another's way: what one needs room for, another leaves out or covers."""

    def __init__(self, session: Session, look: Look) -> None:
        self._session = session
        self.score_view = ScoreView(session, look)
        self.status_line = StatusLine(session, look)
        self.message_line = MessageLine(session, look)
        self.neck_strip = NeckStrip(session, look)
        self.neck_strip.below = self.message_line
        self.outlook = Outlook(session, look)
        self.beside = Beside(session, look)
        self._shown: tuple[TextLine, ...] = ()

    @property
    def widgets(self) -> tuple[Widget, ...]:
        """All of them, from top to bottom."""
        middle = Horizontal(self.score_view, self.beside, id="middle")
        return self.status_line, middle, self.outlook, self.neck_strip, self.message_line

    def fit(self, size: Size) -> bool:
        """Leave out what a screen of this size has no room for; True where a sheet over it needs it all."""
        shares = Shares.of(*size, self._session)
        self.neck_strip.display, self.neck_strip.tall = bool(shares.neck), shares.tall
        self.neck_strip.styles.height = shares.neck
        self.outlook.display, self.outlook.styles.height = bool(shares.below), shares.below
        self.beside.display, self.beside.styles.width = bool(shares.beside), shares.beside
        self.message_line.lines_above, self.message_line.hand_above = shares.over, bool(shares.neck)
        rooms = ((self.neck_strip, shares.neck), (self.outlook, shares.below), (self.beside, shares.beside))
        self._shown = (self.status_line, self.message_line, *(widget for widget, room in rooms if room))
        return size.height < LOWEST_WITH_NECK or size.width < NARROWEST

    def sync_lines(self, finding: Finding | None) -> None:
        """Repaint the lines round the score, and what a long answer covers of it; `finding` is at the cursor."""
        self.message_line.finding = ()
        if finding is not None:
            line = finding_line(self._session.score, finding)
            remedies = _remedy_words(self._session.hand.remedies_known(finding) or ())
            self.message_line.finding = line + remedies, f"{finding.severity.value}: {finding.message}"
        for widget in self._shown:
            widget.sync()
        above = self.message_line.said()[:-1]
        self.score_view.lay_over(above[: -2 if self.neck_strip in self._shown else None])

    def cursor_cell(self) -> tuple[int, int] | None:
        """The cell (x, y) of the screen where the next key writes; None when it is not shown."""
        region = self.score_view.region_of(self._session.here.cursor)
        return None if region is None else (region[0], region[1] + self.score_view.region.y)


def _remedy_words(remedies: Sequence[Remedy]) -> str:
    """The remedy that `&` applies; where there is none, the first of those that change the music."""
    first = next((each for each in remedies if each.is_unasked), None)
    if first is not None:
        return f"   & {first.label}"
    return f"   optional: {remedies[0].label}" if remedies else ""
