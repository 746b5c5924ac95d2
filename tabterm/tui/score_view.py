"""The widget that shows the score in systems."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tabterm.tui.painter import MARGIN, Painter, measure_width
from tabterm.tui.systems import System, pack, system_of
from tabterm.workspace.cursor import Row

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual import events

    from tabterm.hand.findings import Finding
    from tabterm.score.place import Place, Span
    from tabterm.tui.theme import Look
    from tabterm.workspace.cursor import Cursor
    from tabterm.workspace.session import Session


class ScoreView(Widget, can_focus=True):
    """Systems from the top of the screen; scrolls by whole systems and only when the cursor leaves them."""

    DEFAULT_CSS = "ScoreView { height: 1fr; }"

    def __init__(self, session: Session, look: Look) -> None:
        super().__init__()
        self.session = session
        self.painter = Painter(session, look)
        self.systems: tuple[System, ...] = ()
        self.top = 0
        self._shown: tuple[Cursor, str, Span | None] | None = None

    # Layout

    def lay_out(self) -> None:
        """Pack the measures anew where the score or the width has changed, and bring the cursor into view."""
        self.painter.take_score()
        room = max(self.size.width - MARGIN - 3, 20)
        cells = self.painter.cells
        systems = pack([measure_width(cells, index) for index in range(len(self.session.score.measures))], room)
        moved = systems != self.systems
        self.systems = systems
        if self._scroll() or moved:
            self.refresh()

    @property
    def lines_of_system(self) -> int:
        """Lines that each system takes."""
        return len(self.painter.rows())

    @property
    def systems_shown(self) -> int:
        """Whole systems that fit on the screen, at least one."""
        return max(self.size.height // self.lines_of_system, 1)

    def _scroll(self) -> bool:
        """Move the first system shown so that the cursor's is seen; True when it moved."""
        number = system_of(self.systems, self.session.cursor.place.measure)
        fitting = self.systems_shown
        top = min(max(self.top, number - fitting + 1), number)
        top = max(min(top, len(self.systems) - 1), 0)
        moved, self.top = top != self.top, top
        shown = self.systems[self.top : self.top + fitting]
        self.session.measures_on_screen = max(sum(len(system.xs) for system in shown), 1)
        return moved

    def on_resize(self) -> None:
        """Pack for the new width."""
        self.systems = ()
        self.lay_out()
        self._remember()

    # Painting

    def render_line(self, y: int) -> Strip:
        """One line of the screen."""
        rows = self.painter.rows()
        number, line = divmod(y, len(rows))
        index = self.top + number
        if index >= len(self.systems):
            return Strip.blank(self.size.width, self.painter.look.plain)
        strip = self.painter.line(self.systems[index], rows[line])
        return strip.adjust_cell_length(self.size.width, self.painter.look.plain)

    def sync(self) -> None:
        """Repaint what differs from what is shown, after a key has changed the session."""
        cells = self.painter.cells
        if self.session.score is not cells.score:
            self._sync_score()
        elif self._scroll():
            self.refresh()
        before = self._shown
        self._remember()
        if before is None or self._shown is None:
            return
        if before[2] != self._shown[2]:
            self.refresh()
        elif before != self._shown:
            self._refresh_cursor(before[0], before[1])
            self._refresh_cursor(self._shown[0], self._shown[1])

    def _sync_score(self) -> None:
        """Take a new score; repaint the systems that show measures of the last change."""
        systems, top = self.systems, self.top
        self.lay_out()
        change = self.session.last_change
        if systems != self.systems or top != self.top or change is None:
            self.refresh()
            return
        last = change.first + len(change.inserted)
        height = self.lines_of_system
        for number in range(system_of(systems, change.first), system_of(systems, last) + 1):
            y = (number - self.top) * height
            self.refresh(Region(0, y, self.size.width, height))

    def _remember(self) -> None:
        cursor, pending = self.session.cursor, self.session.pending
        self._shown = (cursor, str(pending), self.session.selection())

    def _refresh_cursor(self, cursor: Cursor, pending: str) -> None:
        region = self.region_of(cursor)
        if region is not None:
            width = 10 if "True" in pending or "tens=0" not in pending else 6
            self.refresh(Region(region.x, region.y, width, 1))
            label_y = region.y
            if cursor.row is Row.COURSE:
                self.refresh(Region(0, label_y, MARGIN, 1))

    def region_of(self, cursor: Cursor) -> Region | None:
        """Cells where a cursor stands on the screen, or None when it is not shown."""
        if not self.systems:
            return None
        number = system_of(self.systems, cursor.place.measure)
        rows = self.painter.rows()
        line = next(
            (
                index
                for index, (row, course) in enumerate(rows)
                if row is cursor.row and (row is not Row.COURSE or course == cursor.course)
            ),
            None,
        )
        if line is None or number < self.top:
            return None
        x, width = self.painter.x_of(self.systems[number], cursor.place)
        return Region(x, (number - self.top) * len(rows) + line, min(width, 2), 1)

    def show_findings(self, findings: Mapping[Place, tuple[Finding, ...]]) -> None:
        """Take new findings; repaint when their places have changed."""
        if {place: len(found) for place, found in findings.items()} != {
            place: len(found) for place, found in self.painter.findings.items()
        }:
            self.painter.findings = findings
            self.refresh()
        else:
            self.painter.findings = findings

    def show_playhead(self, place: Place | None) -> None:
        """Move the playhead on the count row; only the cells it leaves and enters are painted."""
        before, self.painter.playhead = self.painter.playhead, place
        if before == place:
            return
        rows = [row for row, _ in self.painter.rows()]
        if Row.COUNT not in rows:
            return
        for at in (before, place):
            if at is not None and at.measure < len(self.session.score.measures):
                number = system_of(self.systems, at.measure)
                x, width = self.painter.x_of(self.systems[number], at)
                y = (number - self.top) * len(rows) + rows.index(Row.COUNT)
                self.refresh(Region(x, y, min(width, 2), 1))

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text is no key: it writes nothing."""
        event.stop()
