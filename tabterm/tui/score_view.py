"""The widget that shows the score in systems: what of it is painted anew when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.geometry import Size
from textual.message import Message

from tabterm.page.rows import COUNT, COURSE
from tabterm.tui.painter import pending_text
from tabterm.tui.score_lines import ScoreLines
from tabterm.tui.terminal.painted import Painted

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from textual import events

    from tabterm.hand.review import Finding
    from tabterm.page.rows import Row
    from tabterm.score.place import Place, Span
    from tabterm.tui.canvas import Line
    from tabterm.tui.theme import Look
    from tabterm.workspace.cursor import Cursor
    from tabterm.workspace.session import Session


class ScoreView(ScoreLines, Painted, can_focus=True):
    """Paints the lines that look otherwise than they were painted, after a key or while something sounds."""

    DEFAULT_CSS = "ScoreView { width: 1fr; height: 100%; }"

    class Pointed(Message):
        """The mouse has pointed at a place: the cursor as it should be there."""

        def __init__(self, cursor: Cursor) -> None:
            super().__init__()
            self.cursor = cursor

    def __init__(self, session: Session, look: Look) -> None:
        Painted.__init__(self)
        ScoreLines.__init__(self, session, look, lambda: self.outer_size)
        self._packed_for = Size(0, 0)
        self._painted: dict[int, Line] = {}
        self._shown: tuple[Cursor, str, tuple[Span | None, Span | None]] | None = None
        self._layout: tuple[object, ...] = ()

    def lay_out(self, first: int = 0) -> None:
        """Pack the measures anew from one on, and bring the cursor into view; repaint what is seen otherwise."""
        self._packed_for = self.outer_size
        before = self.packing.shown(self.top, self.systems_shown + 1)
        self.pack(first)
        if self.scroll() or self.packing.shown(self.top, self.systems_shown + 1) != before:
            self.repaint_all()

    def on_resize(self) -> None:
        """Pack for the new size, unless it has been painted already."""
        self._fit()
        self._remember()

    def _fit(self) -> None:
        if self._packed_for != self.outer_size:
            self.lay_out()
            self.refresh()

    def line(self, y: int) -> Line:
        """One line of the screen; for a new size at once, before the widget is told of it."""
        self._fit()
        self._painted[y] = line = super().line(y)
        return line

    def repaint_all(self) -> None:
        """Show every line anew."""
        self.repaint(range(self.size.height))

    def lay_over(self, lines: list[Line]) -> None:
        """Cover the last lines, until they are to be uncovered."""
        if lines != self._over:
            self._over = lines
            self._refresh_changed_lines()

    def _refresh_changed_lines(self) -> None:
        """Repaint the lines that look otherwise than they were painted."""
        self.repaint(y for y in range(self.size.height) if ScoreLines.line(self, y) != self._painted.get(y))

    def sync(self) -> None:
        """Repaint what differs from what is shown, after a key has changed the session."""
        cells = self.painter.cells
        if self._shown is not None and self._shown[0] != self.session.here.cursor:
            self._cursor_leads = True
        if self.session.score is not cells.score:
            self._sync_score()
        elif self.scroll():
            self.repaint_all()
        elif self.session.shown.proposals and self._kept and self._sources()[3] is not self._kept[3]:
            self._refresh_changed_lines()
        before, layout = self._shown, self._layout
        self._remember()
        if before is None or self._shown is None:
            return
        if layout != self._layout:
            self.scroll()
            self.repaint_all()
        elif before[2] != self._shown[2]:
            self.repaint_all()
        elif _marks(*before[:2]) != _marks(*self._shown[:2]):
            regions = map(self.region_of, (before[0], self._shown[0]))
            self.repaint({region[1] for region in regions if region is not None})

    def _sync_score(self) -> None:
        """Take a new score; repaint the lines that it changes."""
        change = self.session.shown.last_change
        self.lay_out(0 if change is None or change.head_after is not None else change.first)
        self._refresh_changed_lines()

    def _remember(self) -> None:
        cursor = self.session.here.cursor
        lit = self.session.shown.lit
        self._shown = (cursor, pending_text(self.session), (self.session.here.selection(), lit))
        system = self.packing.get(self.packing.number_of(cursor.place.measure))
        self._layout = (self.painter.rows(), 0 if system is None else self._aside(system))

    def show_findings(self, findings: Mapping[Place, tuple[Finding, ...]]) -> None:
        """Take new findings; repaint the lines whose signs they change."""
        self.painter.findings = findings
        self._refresh_changed_lines()

    def show_sound(self) -> None:
        """Show how far the sound has got."""
        transport = self.session.transport
        run = transport.run
        self.show_count(transport.counted(), 0 if run is None else run.takes[0].start.measure)
        self.show_playhead(transport.place())

    def show_count(self, said: str, index: int) -> None:
        """Show what has been said of the count-in at the count row of the measure that it leads into."""
        before, self.painter.counted = self.painter.counted, (said, index)
        if before == (said, index):
            return
        self.repaint(y for _, at in {before, self.painter.counted} for y in self._lines_of(COUNT, at))

    def show_playhead(self, place: Place | None) -> None:
        """Move the playhead on the count row and the courses.

        Where it is followed, the page scrolls by whole systems; when nothing sounds any more, the cursor is seen.
        """
        before, lit = self.painter.playhead, self.painter.lights
        self.painter.playhead = place
        if before == place:
            return
        if before is None or place is None:
            self._cursor_leads = False
        if self.scroll():
            self.repaint_all()
            return
        now = self.painter.lights
        found = ((row, at) for row in (COUNT, COURSE) if lit.get(row) != now.get(row) for at in (lit, now))
        places = [(row, lights[row]) for row, lights in found if row in lights]
        count = len(self.session.score.measures)
        self.repaint({y for row, at in places if at.measure < count for y in self._lines_of(row, at.measure)})

    def _lines_of(self, row: Row, index: int) -> Iterable[int]:
        """The lines of a row of a measure's system."""
        rows = self.painter.rows()
        top = (self.packing.number_of(index) - self.top) * len(rows)
        return (y for y, (each, _) in enumerate(rows, top) if each is row)

    def on_click(self, event: events.Click) -> None:
        """Where the mouse is watched, a click puts the cursor on the event or beat that was pointed at."""
        rows = self.painter.rows()
        number, line = divmod(event.y, len(rows))
        system = self.packing.get(self.top + number)
        row, course = rows[line]
        if system is None or row not in self.session.shown.rows:
            return
        place = self.painter.place_at(system, event.x + self._aside(system))
        self.post_message(self.Pointed(self.session.here.cursor.at(place).on(row, course or None)))

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text is no key: it writes nothing."""
        event.stop()


def _marks(cursor: Cursor, pending: str) -> tuple[object, ...]:
    """What a cursor leaves on the lines: the name of its row, and what has been said about the next note."""
    return cursor.row, cursor.course, pending and (pending, cursor.place)
