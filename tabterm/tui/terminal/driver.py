"""The driver of the terminal: its modes and signals, what is read from it and what is written to it."""

from __future__ import annotations

import asyncio
import os
import select
import signal
import termios
from typing import TYPE_CHECKING, Any, cast

from textual import events
from textual.driver import Driver
from textual.geometry import Size

from tabterm.tui.terminal.abilities import size_of
from tabterm.tui.terminal.keyboard import Settled
from tabterm.tui.terminal.modes import KEYBOARD, MOUSE_OFF, MOUSE_ON, SCREEN, begun, farewell, set_raw
from tabterm.tui.terminal.streams import Reader, Writer

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import App
    from textual.message import Message

    from tabterm.tui.terminal.application import TerminalApp

SETTLE_S = 0.02
"""How long the size of the terminal must stay as it is before it is looked at."""


class TerminalDriver(Driver):
    """Reads keys on the event loop, which waits neither for them nor for the terminal to take a frame."""

    def __init__(
        self, app: App[Any], *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._application = cast("TerminalApp", app)
        self.wire = self._application.wire
        self._input, self._output = KEYBOARD, SCREEN
        self._modes_before: list[Any] | None = None
        self._reader: Reader | None = None
        self._writer: Writer | None = None
        self._stopped = False
        self._drawing: asyncio.TimerHandle | None = None
        self._at_once = False
        self._measuring: asyncio.TimerHandle | None = None

    @property
    def can_suspend(self) -> bool:
        """The shell can have the terminal for a while."""
        return True

    # The modes of the terminal

    def start_application_mode(self) -> None:
        """Take the terminal over."""
        loop = asyncio.get_running_loop()
        for number, handler in (
            (signal.SIGTSTP, self._suspend),
            (signal.SIGCONT, self._resume),
            (signal.SIGWINCH, self._measure_soon),
        ):
            loop.add_signal_handler(number, handler)
        self._take_terminal()
        self._tell_size()

    def _take_terminal(self) -> None:
        """Take it, or go on where the first picture has taken it."""
        taken = self._application.modes_before
        self._modes_before = taken or termios.tcgetattr(self._input)
        self._application.modes_before = None
        set_raw(self._input)
        if taken is None:
            self.wire.forget()
        self._writer = Writer(self.wire, self._output)
        self.write(("" if taken else begun(self.wire.abilities)) + (MOUSE_ON if self._mouse else ""))
        self._reader = Reader(self._input, self._carry_out, self._handle, self._when_taken, self._hung_up)

    def disable_input(self) -> None:
        """Read no more keys."""
        if self._reader is not None:
            self._reader.stop()
            self._reader = None

    def stop_application_mode(self) -> None:
        """Give the terminal back as it was."""
        self.disable_input()
        self.write(self._farewell())
        self.close()
        if self._modes_before is not None:
            termios.tcsetattr(self._input, termios.TCSANOW, self._modes_before)
            termios.tcflush(self._input, termios.TCIFLUSH)
            self._modes_before = None

    def _farewell(self) -> str:
        return (MOUSE_OFF if self._mouse else "") + farewell(self.wire.abilities, self.wire.lines)

    def give_back_at_once(self) -> None:
        """The same from a signal's handler, where nothing may be waited for."""
        if self._modes_before is not None:
            termios.tcsetattr(self._input, termios.TCSANOW, self._modes_before)
            if select.select([], [self._output], [], 0.0)[1]:
                os.write(self._output, self._farewell().encode())

    def close(self) -> None:
        """Send what is still to be sent, if the terminal takes it."""
        if self._writer is not None:
            self._writer.stop()
            self._writer = None

    # Signals; the loop calls these between two events

    def _suspend(self) -> None:
        """The process is asked to stop: give the terminal back first."""
        if self._stopped or not self._auto_restart:
            return
        self._app.app_suspend_signal.publish(self._app)
        self.suspend_application_mode()
        self._stopped = True
        os.kill(os.getpid(), signal.SIGSTOP)

    def _resume(self) -> None:
        """The process goes on, after it gave the terminal back or was stopped without warning."""
        if self._stopped:
            self._stopped = False
            self._take_terminal()
        else:
            set_raw(self._input)
        self._app.app_resume_signal.publish(self._app)
        self._measure()

    def _measure_soon(self) -> None:
        """The terminal is being resized; only the size that it ends with matters."""
        if self._measuring is not None:
            self._measuring.cancel()
        self._measuring = self._loop.call_later(SETTLE_S, self._measure)

    def _measure(self) -> None:
        """Tell the application how large the terminal is now; what it shows after a change nobody knows."""
        self._measuring = None
        with self.wire.lock:
            self.wire.forget()
        if size_of(self._output) == (self.wire.columns, self.wire.lines):
            self.draw()
        self._tell_size()

    def _tell_size(self) -> None:
        size = Size(*size_of(self._output))
        self.process_message(events.Resize(size, size))

    # Input

    def send_message(self, message: Message) -> None:
        """Put a message into the application's queue, without the task that the toolkit makes for it."""
        self._app.post_message(message)

    def _carry_out(self, message: Message) -> bool:
        """Have a key carried out without the queue, where the application can; False where it waits its turn."""
        return isinstance(message, events.Key) and self._application.carry_out(message)

    def _handle(self, message: Any) -> None:
        if isinstance(message, Settled):
            if self._writer is not None:
                self._writer.settled()
        elif not isinstance(message, events.MouseEvent) or self._mouse:
            self.process_message(message)

    def _when_taken(self, then: Callable[[], None]) -> None:
        """Call back when the application has carried out everything that was handed to it."""
        self.process_message(events.Callback(then))

    def _hung_up(self) -> None:
        """There is no terminal any more, even if the signal for it was kept from us."""
        os.kill(os.getpid(), signal.SIGHUP)

    # Output

    def write(self, data: str) -> None:
        """Send a sequence that draws nothing, before the next frame."""
        if self._writer is not None:
            self._writer.send(data)

    def draw(self, within_s: float = 0.0) -> None:
        """Something else is wanted on the screen: draw it when all of it is known and the terminal takes it."""
        if self._application.holds:
            return
        if self._drawing is not None:
            if within_s or self._at_once:
                return
            self._drawing.cancel()
        self._at_once = not within_s
        self._drawing = self._loop.call_later(within_s, self._draw)

    def draw_what_is_due(self) -> bool:
        """Draw at once what is known to be wanted otherwise; False where nothing is."""
        if self._drawing is None:
            return False
        self._drawing.cancel()
        self._draw()
        return True

    def _draw(self) -> None:
        self._drawing = None
        self._application.place_cursor()
        if self._writer is not None:
            self._writer.due()
