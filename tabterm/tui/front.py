"""The editor's own screen: the score and the lines round it, as one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal

from tabterm.tui.lines import MessageLine, Outlook, StatusLine, finding_line
from tabterm.tui.neck import NeckStrip
from tabterm.tui.score_view import ScoreView

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.geometry import Size
    from textual.widget import Widget

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session

LOWEST_WITH_NECK = 16
"""Lines of a screen that has room for the neck."""

NARROWEST = 60
"""Cells of a line from which a sheet over the score need not take all of the screen."""

LINES_OVER_SCORE = 3
"""Lines of the score that a long answer may cover until the next key."""


class Front:
    """The widgets that stand in one another's way: what one needs room for, another leaves out or covers."""

    def __init__(self, session: Session, look: Look) -> None:
        self._session = session
        self.score_view = ScoreView(session, look)
        self.status_line = StatusLine(session, look)
        self.message_line = MessageLine(session, look)
        self.neck_strip = NeckStrip(session, look, self.message_line)
        self.outlook = Outlook(session, look)
        self.beside = Outlook(session, look, beside=True)

    @property
    def widgets(self) -> tuple[Widget, ...]:
        """All of them, from top to bottom."""
        middle = Horizontal(self.score_view, self.beside, id="middle")
        return self.status_line, middle, self.outlook, self.neck_strip, self.message_line

    def fit(self, size: Size) -> bool:
        """Leave out what a screen of this size has no room for; True where a sheet over it needs it all.

        A neck of one line is of the cursor's moment, and gives way while something sounds.
        """
        shown = self._session.shown
        neck = shown.neck and not shown.plain and size.height >= LOWEST_WITH_NECK
        neck = neck and (size.height >= NeckStrip.TALL_FROM or not self._session.transport.playing)
        self.neck_strip.display = neck
        self.neck_strip.fit(size.height)
        for outlook in (self.outlook, self.beside):
            outlook.fit(size.width, size.height, plain=shown.plain)
        self.message_line.lines_above = 2 * neck + (0 if self.outlook.display else LINES_OVER_SCORE)
        self.message_line.hand_above = neck
        return size.height < LOWEST_WITH_NECK or size.width < NARROWEST

    def sync_lines(self, finding: Finding | None) -> None:
        """Repaint the lines round the score, and what a long answer covers of it; `finding` is at the cursor."""
        line = finding_line(self._session.score, finding) if finding else ""
        remedies = self._session.hand.remedies_known(finding) if finding else None
        self.message_line.finding = line + _remedy_words(remedies or ())
        for widget in (self.status_line, self.message_line, self.neck_strip, self.outlook, self.beside):
            widget.sync()
        above = self.message_line.said()[:-1]
        self.score_view.lay_over(above[: -2 if self.neck_strip.display else None])

    def cursor_cell(self) -> tuple[int, int] | None:
        """The cell (x, y) of the screen where the next key writes; None when it is not shown."""
        region = self.score_view.region_of(self._session.here.cursor)
        return None if region is None else (region.x, region.y + self.score_view.region.y)


def _remedy_words(remedies: Sequence[Remedy]) -> str:
    """The remedy that `&` applies; where there is none, the first of those that change the music."""
    first = next((each for each in remedies if each.is_unasked), None)
    if first is not None:
        return f"   & {first.label}"
    return f"   only if you like: {remedies[0].label}" if remedies else ""
