"""The widget that shows the score in systems."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.geometry import Region, Size
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tabterm.page.rows import COUNT, COURSE
from tabterm.tui.painter import LIT, MARGIN, Painter, measure_width, pending_text
from tabterm.tui.systems import Packing, window

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual import events

    from tabterm.hand.review import Finding
    from tabterm.page.rows import Row
    from tabterm.score.place import Place, Span
    from tabterm.tui.painter import PlayerRow
    from tabterm.tui.systems import System
    from tabterm.tui.theme import Look
    from tabterm.workspace.cursor import Cursor
    from tabterm.workspace.session import Session


class ScoreView(Widget, can_focus=True):
    """Systems from the top of the screen; scrolls by whole systems and only when the cursor leaves them."""

    DEFAULT_CSS = "ScoreView { width: 1fr; height: 100%; }"

    class Pointed(Message):
        """The mouse has pointed at a place: the cursor as it should be there."""

        def __init__(self, cursor: Cursor) -> None:
            super().__init__()
            self.cursor = cursor

    def __init__(self, session: Session, look: Look) -> None:
        super().__init__()
        self.session = session
        self.painter = Painter(session, look)
        self.packing = Packing(lambda _: 1, 0, 1)
        self._packed_for = Size(0, 0)
        self._over: list[Strip] = []
        self.top = 0
        self._cursor_leads = False
        self._painted: dict[int, Strip] = {}
        self._shown: tuple[Cursor, str, tuple[Span | None, Span | None]] | None = None
        self._layout: tuple[object, ...] = ()
        self._drawn: dict[int, Strip] = {}
        self._drawn_for: tuple[object, ...] = ()
        self._kept: tuple[object, ...] = ()

    # Layout

    def lay_out(self, first: int = 0) -> None:
        """Pack the measures anew from one on, and bring the cursor into view; repaint what is seen otherwise."""
        self.painter.take_score()
        self.painter.room, self.painter.width, self._packed_for = self.size.height, self.size.width, self.size
        before = self.packing.shown(self.top, self.systems_shown + 1)
        cells = self.painter.cells
        self.packing = Packing(
            lambda index: measure_width(cells, index),
            len(self.session.score.measures),
            max(self.size.width - MARGIN - 3, 20),
            self.packing.before(first) if first else (),
        )
        if self._scroll() or self.packing.shown(self.top, self.systems_shown + 1) != before:
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
        """Bring the cursor's system, or the one that sounds, into view; True when the page moved."""
        fitting, leader = self.systems_shown, self._leader
        top = self._top_for_cursor(fitting) if leader is None else self._top_for_sound(fitting, leader)
        moved, self.top = top != self.top, top
        shown = self.packing.shown(self.top, fitting)
        self.session.shown.left_out = self.painter.left_out()
        self.session.shown.measures = max(sum(len(system.xs) for system in shown), 1)
        return moved

    def _top_for_cursor(self, fitting: int) -> int:
        number = self.packing.number_of(self.session.here.cursor.place.measure)
        return min(max(self.top, number - fitting + 1), number)

    def _top_for_sound(self, fitting: int, place: Place) -> int:
        """The system that sounds on top, unless it is seen with the one behind it, or with the last one played."""
        number = self.packing.number_of(place.measure)
        last = self.packing.number_of(self.session.rehearsal.last_measure_played())
        seen = self.top <= number < self.top + fitting
        if seen and (number < self.top + fitting - 1 or number >= last):
            return self.top
        return min(number, max(last - fitting + 1, 0))

    @property
    def _leader(self) -> Place | None:
        """Where the sound is, when that is what is to be seen."""
        return self.painter.playhead if self.session.shown.follows and not self._cursor_leads else None

    def on_resize(self) -> None:
        """Pack for the new size, unless it has been painted already."""
        self._fit()
        self._remember()

    def _fit(self) -> None:
        if self._packed_for != self.size:
            self.lay_out()
            self.refresh()

    # Painting

    def render_line(self, y: int) -> Strip:
        """One line of the screen; for a new size at once, before the widget is told of it."""
        self._fit()
        self._painted[y] = strip = self._line(y)
        return strip

    def _line(self, y: int) -> Strip:
        """A line as it should be now; drawn once, however often it is asked for, until something changes."""
        if y >= self.size.height - len(self._over):
            return self._over[y - self.size.height].adjust_cell_length(self.size.width)
        state = self._state()
        if state != self._drawn_for:
            self._drawn, self._drawn_for, self._kept = {}, state, self._sources()
        if y not in self._drawn:
            self._drawn[y] = self._draw(y)
        return self._drawn[y]

    def _state(self) -> tuple[object, ...]:
        """What the lines are drawn from; what is large by its identity, which holds while it is kept."""
        session, painter = self.session, self.painter
        return (
            *map(id, self._sources()),
            *(
                session.here.cursor,
                session.next_note.pending,
                (session.here.anchor, session.shown.lit),
                session.shown.hidden_rows,
                session.shown.silent_strokes,
            ),
            *(painter.playhead, painter.counted, painter.room, self.top, self.size),
        )

    def _sources(self) -> tuple[object, ...]:
        session = self.session
        fitted = session.proposals.known() if session.shown.proposals else None
        return self.painter.cells, self.painter.findings, session.hand.advice, fitted, self.packing

    def _draw(self, y: int) -> Strip:
        rows = self.painter.rows()
        number, line = divmod(y, len(rows))
        system = self.packing.get(self.top + number)
        if system is None or not self._shows_courses(y - line, rows):
            return Strip.blank(self.size.width, self.painter.look.plain)
        strip = self.painter.line(system, rows[line])
        if system.end + 2 > self.size.width - MARGIN:
            left, right = self._window(system)
            strip = Strip.join([strip.crop(0, MARGIN), strip.crop(MARGIN + left, MARGIN + right)])
        return strip.adjust_cell_length(self.size.width, self.painter.look.plain)

    def _shows_courses(self, top: int, rows: tuple[PlayerRow, ...]) -> bool:
        """Whether all courses of the system that begins on a line are seen, or it is the only one."""
        last = max(number for number, (row, _) in enumerate(rows) if row is COURSE)
        return top == 0 or top + last < self.size.height

    def _window(self, system: System) -> tuple[int, int]:
        """The cells that are shown of a system wider than the screen, so that the cursor is seen."""
        place = self.session.here.cursor.place
        beyond = place.measure > system.last == len(self.session.score.measures) - 1
        x = self.painter.x_of(system, place)[0] - MARGIN if place.measure in system or beyond else 0
        return window(self.painter.edges(system), x, self.size.width - MARGIN)

    def _aside(self, system: System) -> int:
        """Cells of a system that are left out at its left."""
        return self._window(system)[0] if system.end + 2 > self.size.width - MARGIN else 0

    def lay_over(self, strips: list[Strip]) -> None:
        """Cover the last lines, until they are to be uncovered."""
        if strips != self._over:
            self._over = strips
            self._refresh_changed_lines()

    def _refresh_changed_lines(self) -> None:
        """Repaint the lines that look otherwise than they were painted."""
        for y in range(self.size.height):
            if self._line(y) != self._painted.get(y):
                self.refresh(Region(0, y, self.size.width, 1))

    def sync(self) -> None:
        """Repaint what differs from what is shown, after a key has changed the session."""
        cells = self.painter.cells
        if self._shown is not None and self._shown[0] != self.session.here.cursor:
            self._cursor_leads = True
        if self.session.score is not cells.score:
            self._sync_score()
        elif self._scroll():
            self.refresh()
        elif self.session.shown.proposals and self._kept is not None and self._sources()[3] is not self._kept[3]:
            self._refresh_changed_lines()
        before, layout = self._shown, self._layout
        self._remember()
        if before is None or self._shown is None:
            return
        if layout != self._layout:
            self._scroll()
            self.refresh()
        elif before[2] != self._shown[2]:
            self.refresh()
        elif before != self._shown:
            self._refresh_cursor(before[0], before[1])
            self._refresh_cursor(self._shown[0], self._shown[1])

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

    def _refresh_cursor(self, cursor: Cursor, pending: str) -> None:
        """Repaint the cells of a cursor, with what was said about the next note, and the name of its course."""
        region = self.region_of(cursor)
        if region is not None:
            self.refresh(Region(region.x, region.y, max(len(pending), 1), 1))
            self.refresh(Region(0, region.y, MARGIN, 1))

    def region_of(self, cursor: Cursor) -> Region | None:
        """Cells where a cursor stands on the screen, or None when it is not shown."""
        number = self.packing.number_of(cursor.place.measure)
        system = self.packing.get(number)
        rows = self.painter.rows()
        line = next(
            (
                index
                for index, (row, course) in enumerate(rows)
                if row is cursor.row and (row is not COURSE or course == cursor.course)
            ),
            None,
        )
        if line is None or system is None or number < self.top:
            return None
        y = (number - self.top) * len(rows) + line
        if y >= self.size.height:
            return None
        x, width = self.painter.x_of(system, cursor.place)
        return Region(x - self._aside(system), y, min(width, 2), 1)

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
        for _, at in {before, self.painter.counted}:
            self._refresh_row(COUNT, at, 0, MARGIN)

    def show_playhead(self, place: Place | None) -> None:
        """Move the playhead on the count row; only the cells it leaves and enters are painted.

        Where it is followed, the page scrolls by whole systems; when nothing sounds any more, the cursor is seen.
        """
        before, lit = self.painter.playhead, self.painter.lights
        self.painter.playhead = place
        if before == place:
            return
        if before is None or place is None:
            self._cursor_leads = False
        if self._scroll():
            self.refresh()
            return
        now = self.painter.lights
        for row in (COUNT, COURSE):
            for at in {lit.get(row), now.get(row)} if lit.get(row) != now.get(row) else ():
                if at is not None and at.measure < len(self.session.score.measures):
                    system = self.packing.systems[self.packing.number_of(at.measure)]
                    x, width = self.painter.x_of(system, at)
                    self._refresh_row(row, at.measure, x - self._aside(system), min(width, LIT))

    def _refresh_row(self, row: Row, index: int, x: int, width: int) -> None:
        """Repaint cells of a row of a measure's system."""
        rows = self.painter.rows()
        top = (self.packing.number_of(index) - self.top) * len(rows)
        for y, (each, _) in enumerate(rows, top):
            if each is row:
                self.refresh(Region(x, y, width, 1))

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
