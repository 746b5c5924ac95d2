"""The score in systems, line by line: which systems are seen, and what stands on each line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.page.rows import COURSE
from tabterm.tui.canvas import blank_line
from tabterm.tui.lines import Part
from tabterm.tui.painter import Painter, measure_width
from tabterm.tui.systems import Packing, window

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.score.place import Place
    from tabterm.tui.canvas import Line
    from tabterm.tui.systems import PlayerRow, System
    from tabterm.tui.theme import Look
    from tabterm.workspace.cursor import Cursor
    from tabterm.workspace.session import Session


class ScoreLines(Part):
    """Systems from the top of the screen; scrolls by whole systems and only when the cursor leaves them."""

    def __init__(self, session: Session, look: Look, extent: Callable[[], tuple[int, int]]) -> None:
        super().__init__(session, look, extent)
        self.painter = Painter(session, look)
        self.packing = Packing(lambda _: 1, 0, 1)
        self.top = 0
        self._over: list[Line] = []
        self._cursor_leads = False
        self._drawn: dict[int, Line] = {}
        self._drawn_for: tuple[object, ...] = ()
        self._kept: tuple[object, ...] = ()

    # Layout

    def pack(self, first: int = 0) -> None:
        """Pack the measures anew from one on."""
        self.painter.take_score()
        self.painter.room, self.painter.width = self.high, self.wide
        cells = self.painter.cells
        self.packing = Packing(
            lambda index: measure_width(cells, index),
            len(self.session.score.measures),
            max(self.wide - self.painter.margin - 3, 20),
            self.packing.before(first) if first else (),
        )

    @property
    def lines_of_system(self) -> int:
        """Lines that each system takes."""
        return len(self.painter.rows())

    @property
    def systems_shown(self) -> int:
        """Whole systems that fit on the screen, at least one."""
        return max(self.high // self.lines_of_system, 1)

    def scroll(self) -> bool:
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

    # Painting

    def line(self, y: int) -> Line:
        """A line as it should be now; drawn once, however often it is asked for, until something changes."""
        if y >= self.high - len(self._over):
            return self._over[y - self.high].to(self.wide, self.look.plain)
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
            *(painter.playhead, painter.counted, painter.room, self.top, self._extent()),
        )

    def _sources(self) -> tuple[object, ...]:
        session = self.session
        fitted = session.proposals.known() if session.shown.proposals else None
        return self.painter.cells, self.painter.findings, session.hand.advice, fitted, self.packing

    def _draw(self, y: int) -> Line:
        rows = self.painter.rows()
        number, line = divmod(y, len(rows))
        system = self.packing.get(self.top + number)
        if system is None or not self._shows_courses(y - line, rows):
            return blank_line(self.wide, self.look.plain)
        canvas = self.painter.line(system, rows[line])
        if self._is_too_wide(system):
            left, right = self._window(system)
            margin = self.painter.margin
            canvas.leave_out(margin + right, len(canvas.characters))
            canvas.leave_out(margin, margin + left)
        return canvas.line(self.wide, self.look.plain)

    def _shows_courses(self, top: int, rows: tuple[PlayerRow, ...]) -> bool:
        """Whether all courses of the system that begins on a line are seen, or it is the only one."""
        last = max(number for number, (row, _) in enumerate(rows) if row is COURSE)
        return top == 0 or top + last < self.high

    def _is_too_wide(self, system: System) -> bool:
        """Whether a system is wider than the screen: with its last bar line, or with the cursor behind it."""
        return system.end + (2 if self._cursor_is_behind(system) else 1) > self.wide - self.painter.margin

    def _cursor_is_behind(self, system: System) -> bool:
        return self.session.here.cursor.place.measure > system.last == len(self.session.score.measures) - 1

    def _window(self, system: System) -> tuple[int, int]:
        """The cells that are shown of a system wider than the screen, so that the cursor is seen."""
        place, margin = self.session.here.cursor.place, self.painter.margin
        seen = place.measure in system or self._cursor_is_behind(system)
        x = self.painter.x_of(system, place)[0] - margin if seen else 0
        return window(self.painter.edges(system), x, self.wide - margin)

    def _aside(self, system: System) -> int:
        """Cells of a system that are left out at its left."""
        return self._window(system)[0] if self._is_too_wide(system) else 0

    def region_of(self, cursor: Cursor) -> tuple[int, int, int] | None:
        """Cell (x, y) where a cursor stands, and how many cells it may take; None when it is not shown."""
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
        if y >= self.high:
            return None
        x, width = self.painter.x_of(system, cursor.place)
        return x - self._aside(system), y, min(width, 2)
