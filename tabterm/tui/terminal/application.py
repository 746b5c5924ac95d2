"""An application of the toolkit on our terminal: its screen goes over the wire, its faults are kept."""

from __future__ import annotations

import traceback
from asyncio import get_running_loop
from typing import TYPE_CHECKING, Any

from textual.app import App
from textual.dom import NoScreen
from textual.errors import NoWidget

from tabterm.tui.terminal.driver import TerminalDriver
from tabterm.tui.terminal.wire import Wire

if TYPE_CHECKING:
    from asyncio import TimerHandle
    from collections.abc import Callable, Iterable

    from rich.console import RenderableType
    from textual.events import Key
    from textual.geometry import Region
    from textual.screen import Screen
    from textual.widget import Widget

    from tabterm.tui.canvas import Line
    from tabterm.tui.terminal.abilities import Abilities

PAINT_S = 0.005
"""How long the toolkit's own painting after an event is waited for, so that one frame holds it all."""


class TerminalApp(App[None], inherit_bindings=False):
    """Gives the toolkit's updates to the wire; those of unknown kinds are sent as the toolkit would."""

    def __init__(self, abilities: Abilities, *, ansi_color: bool) -> None:
        super().__init__(driver_class=TerminalDriver, ansi_color=ansi_color)
        self.wire = Wire(abilities)
        self.modes_before: list[Any] | None = None
        """The terminal's modes before the first picture took it; None where there was none."""
        self.holds = False
        """Nothing is drawn: the first picture stays until the toolkit has all of its own."""
        self.fault = ""

    def _display(self, screen: Screen[object], renderable: RenderableType | None) -> None:
        driver = self._driver
        shows = self._running and not self._closed and not self._batch_count
        if renderable is None or not shows or not isinstance(driver, TerminalDriver):
            super()._display(screen, renderable)
            return
        wire = self.wire
        with wire.lock:
            if (wire.columns, wire.lines) != self.size:
                wire.resize(*self.size)
            known = wire.take(renderable)
            if not known:
                wire.forget()
        if known:
            driver.draw()
            self.post_display_hook()
        else:
            super()._display(screen, renderable)

    def carry_out(self, key: Key) -> bool:
        """Carry a key out now, past the toolkit's queue; False where it must wait its turn there."""
        action = self.action_of(key)
        if action is None:
            return False
        self.do(action)
        return True

    def do(self, action: Callable[[], None]) -> None:
        """Carry something out that the event loop asks for itself; a fault in it ends the program."""
        if self._closing or self._closed:
            return
        try:
            action()
        except Exception as error:  # noqa: BLE001 - as the toolkit does with all that its queue leads to
            self._handle_exception(error)

    def after(self, seconds: float, action: Callable[[], None]) -> TimerHandle:
        """Carry something out after a while; this costs less than one of the toolkit's timers."""
        return get_running_loop().call_later(seconds, self.do, action)

    def action_of(self, key: Key) -> Callable[[], None] | None:
        """What a key does that waits for nothing; None where it has to go through the queue."""

    def free_region(self, widget: Widget) -> Region | None:
        """Where a widget is on the screen, if that is known, and nothing lies over it."""
        takes_lines = isinstance(self._driver, TerminalDriver) and self._running and not self._closed
        if not takes_lines or self._batch_count or self.covered:
            return None
        if (self.wire.columns, self.wire.lines) != self.size:
            return None
        try:
            return self.screen.find_widget(widget).region
        except (NoScreen, NoWidget):
            return None

    @property
    def covered(self) -> bool:
        """Something lies over the screen that the application began with."""
        return len(self.screen_stack) > 1

    def put(self, lines: Iterable[tuple[int, int, Line]]) -> None:
        """Put lines of our own on the screen, each at a cell."""
        with self.wire.lock:
            for x, y, line in lines:
                self.wire.lay(x, y, line)
        if isinstance(self._driver, TerminalDriver):
            self._driver.draw()

    def _set_pointer_shape(self, shape: str) -> None:
        """Leave the mouse's pointer as it is: old terminals print the sequence for it as text."""

    def draw(self) -> None:
        """Bring the terminal up to date, cursor and all: at once, or in one frame with what the toolkit paints."""
        if isinstance(self._driver, TerminalDriver) and not self._driver.draw_what_is_due():
            self._driver.draw(PAINT_S)

    def send(self, sequence: str) -> None:
        """Send a sequence that draws nothing, before the next frame."""
        if isinstance(self._driver, TerminalDriver):
            self._driver.write(sequence)

    def draw_all(self) -> None:
        """Draw the whole screen anew, whatever the terminal shows."""
        with self.wire.lock:
            self.wire.forget()
        self.draw()

    def give_terminal_back(self) -> None:
        """Leave the terminal as it was, at once or not at all: the process is about to end."""
        if isinstance(self._driver, TerminalDriver):
            self._driver.give_back_at_once()

    def place_cursor(self) -> None:
        """Tell the wire where the cursor belongs; the driver calls it before each frame.

        A frame that was asked for just before the end comes when there is no screen any more to ask.
        """
        if self.is_running:
            self.wire.cursor = self.cursor_cell()

    def cursor_cell(self) -> tuple[int, int] | None:
        """The cell (x, y) where the terminal's cursor stands; None to hide it."""
        return None

    def _fatal_error(self) -> None:
        """A fault in the program: keep its trace for the log, and end."""
        self.fault = traceback.format_exc()
        self._close_messages_no_wait()
