"""The driver of the terminal: its modes, its input, and one frame after the other as fast as it takes them."""

from __future__ import annotations

import asyncio
import os
import select
import signal
import termios
import threading
import time
import tty
from typing import TYPE_CHECKING, Any, Protocol, cast

from textual import events
from textual.driver import Driver
from textual.geometry import Size

from tabterm.tui import terminal
from tabterm.tui.keyboard import Keyboard, Settled
from tabterm.tui.wire import SHOW

if TYPE_CHECKING:
    from textual.app import App

    from tabterm.tui.wire import Wire

KEYBOARD, SCREEN = 0, 1
"""The program's standard input and output, which are one terminal."""

WRAPPING_OFF, WRAPPING_ON = "\x1b[?7l", "\x1b[?7h"
PASTES_MARKED, PASTES_PLAIN = "\x1b[?2004h", "\x1b[?2004l"
MOUSE_ON, MOUSE_OFF = "\x1b[?1000;1006h", "\x1b[?1000;1006l"
"""Clicks only: a report of every movement would fill a thin line upstream."""

SECOND_SCREEN, FIRST_SCREEN = "\x1b[?1049h", "\x1b[?1049l"

ASK = "\x1b[5n"
"""Asks the terminal for a sign of life (DSR), which it gives when it has shown what came before."""

ASK_AFTER = 256
"""Bytes after which it is asked."""

AHEAD = 1536
"""Bytes that may be on their way without an answer before frames are skipped."""

LOST_S = 3.0
"""An answer that takes longer is taken for lost."""

SETTLE_S = 0.02
"""How long the size of the terminal must stay as it is before it is looked at."""

FAREWELL_S = 0.5
"""How long a terminal that takes nothing may hold up the end of the program."""


class Wired(Protocol):
    """What the driver needs of the application."""

    wire: Wire

    def place_cursor(self) -> None:
        """Tell the wire where the cursor belongs."""


class TerminalDriver(Driver):
    """Reads keys in one thread and writes frames in another; the event loop waits for neither."""

    def __init__(
        self, app: App[Any], *, debug: bool = False, mouse: bool = True, size: tuple[int, int] | None = None
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._wired = cast("Wired", app)
        self.wire = self._wired.wire
        self._input, self._output = KEYBOARD, SCREEN
        self._modes_before: list[Any] | None = None
        self._reader: Reader | None = None
        self._writer: Writer | None = None
        self._stopped = False
        self._drawing: asyncio.TimerHandle | None = None
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
        self._measure()

    def _take_terminal(self) -> None:
        self._modes_before = termios.tcgetattr(self._input)
        self._set_raw()
        abilities = self.wire.terminal
        self.wire.forget()
        self._writer = Writer(self.wire, self._output)
        self.write(
            (SECOND_SCREEN if abilities.has_second_screen else "")
            + WRAPPING_OFF
            + (PASTES_MARKED if abilities.marks_pastes else "")
            + abilities.block_cursor
            + (MOUSE_ON if self._mouse else "")
        )
        self._reader = Reader(self._input, self._handle, self._hung_up)

    def _set_raw(self) -> None:
        """Keys one by one, unechoed, none of them a signal; and no flow control by ctrl+s."""
        modes = termios.tcgetattr(self._input)
        modes[tty.IFLAG] &= ~(termios.IXON | termios.IXOFF | termios.ICRNL | termios.INLCR | termios.IGNCR)
        modes[tty.LFLAG] &= ~(termios.ECHO | termios.ICANON | termios.IEXTEN | termios.ISIG)
        modes[tty.CC][termios.VMIN], modes[tty.CC][termios.VTIME] = 1, 0
        termios.tcsetattr(self._input, termios.TCSANOW, modes)

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
        abilities = self.wire.terminal
        parts = (
            MOUSE_OFF if self._mouse else "",
            abilities.own_cursor,
            PASTES_PLAIN if abilities.marks_pastes else "",
            WRAPPING_ON + "\x1b[m",
            SHOW if abilities.hides_cursor else "",
            FIRST_SCREEN if abilities.has_second_screen else f"\x1b[{self.wire.lines}H\r\n",
        )
        return "".join(parts)

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
            self._app.app_resume_signal.publish(self._app)
        else:
            self._set_raw()
        self._measure()

    def _measure_soon(self) -> None:
        """The terminal is being resized; only the size that it ends with matters."""
        if self._measuring is not None:
            self._measuring.cancel()
        self._measuring = self._loop.call_later(SETTLE_S, self._measure)

    def _measure(self) -> None:
        """Tell the application how large the terminal is now; what it shows after a change nobody knows."""
        self._measuring = None
        size = Size(*terminal.size(self._output))
        with self.wire.lock:
            self.wire.forget()
        if size == (self.wire.columns, self.wire.lines):
            self.draw()
        self.process_message(events.Resize(size, size))

    # Input; called by the reader's thread

    def _handle(self, message: Any) -> None:
        if isinstance(message, Settled):
            if self._writer is not None:
                self._writer.settled()
        elif not isinstance(message, events.MouseEvent) or self._mouse:
            self.process_message(message)

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
        if self._drawing is not None:
            if within_s:
                return
            self._drawing.cancel()
        self._drawing = self._loop.call_later(within_s, self._draw)

    def _draw(self) -> None:
        self._drawing = None
        self._wired.place_cursor()
        if self._writer is not None:
            self._writer.due()


class Writer:
    """A thread that sends frames: each is made when the one before has been taken, from what is wanted then.

    A line may hold many seconds of output for a terminal behind it that is slow. So the terminal is asked now and
    then whether it has shown everything; one that answers is never more than a screenful behind.
    """

    def __init__(self, wire: Wire, descriptor: int) -> None:
        self._wire = wire
        self._descriptor = descriptor
        self._condition = threading.Condition()
        self._sequences = ""
        self._due = False
        self._stopping = False
        self._answers = False
        self._unanswered = 0
        self._asked_about = 0
        self._asked_s: float | None = None
        self._thread = threading.Thread(target=self._run, name="tabterm-output", daemon=True)
        self._thread.start()

    def send(self, sequence: str) -> None:
        """Send a sequence before the next frame."""
        with self._condition:
            self._sequences += sequence
            self._condition.notify()

    def due(self) -> None:
        """A frame is due."""
        with self._condition:
            self._due = True
            self._condition.notify()

    def settled(self) -> None:
        """The terminal has answered."""
        with self._condition:
            self._answers, self._asked_s = True, None
            self._unanswered -= self._asked_about
            self._asked_about = 0
            self._condition.notify()

    def stop(self) -> None:
        """Send what is left and end; at a terminal that takes nothing, end without."""
        with self._condition:
            self._stopping = True
            self._condition.notify()
        self._thread.join(FAREWELL_S)

    def _run(self) -> None:
        while True:
            with self._condition:
                while not self._has_work():
                    self._condition.wait(self._wait_s())
                sequences, self._sequences = self._sequences, ""
                due, self._due = self._due, False
                stopping = self._stopping
            if not self._write(sequences + (self._frame() if due and not stopping else "")) or stopping:
                return

    def _has_work(self) -> bool:
        return bool(self._stopping or self._sequences or (self._due and not self._is_ahead()))

    def _is_ahead(self) -> bool:
        """Whether the terminal must answer before more is sent."""
        waiting = self._answers and self._asked_s is not None and self._unanswered > AHEAD
        return waiting and time.monotonic() < cast("float", self._asked_s) + LOST_S

    def _wait_s(self) -> float | None:
        """How long to wait for something to do; an answer may be lost."""
        if not self._due or self._asked_s is None:
            return None
        return max(self._asked_s + LOST_S - time.monotonic(), 0.0) + 0.01

    def _frame(self) -> str:
        with self._wire.lock:
            frame = self._wire.frame()
        with self._condition:
            self._unanswered += len(frame)
            lost = self._asked_s is not None and time.monotonic() > self._asked_s + LOST_S
            if self._unanswered >= ASK_AFTER and (self._asked_s is None or (lost and self._answers)):
                self._asked_s, self._asked_about = time.monotonic(), self._unanswered
                frame += ASK
        return frame

    def _write(self, data: str) -> bool:
        """Send it all, however long that takes; False when there is no terminal any more."""
        raw = data.encode(errors="replace")
        try:
            while raw:
                raw = raw[os.write(self._descriptor, raw) :]
        except OSError:
            return False
        return True


class Reader:
    """A thread that hands on what the keyboard sends, and sleeps while it sends nothing."""

    def __init__(self, descriptor: int, handle: Any, hung_up: Any) -> None:
        """Give each message to `handle`; call `hung_up` when the terminal is gone."""
        self._descriptor = descriptor
        self._handle = handle
        self._hung_up = hung_up
        self._wake, self._waker = os.pipe()
        self._thread = threading.Thread(target=self._run, name="tabterm-input", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the thread."""
        os.write(self._waker, b".")
        self._thread.join()
        os.close(self._wake)
        os.close(self._waker)

    def _run(self) -> None:
        keyboard = Keyboard(time.monotonic)
        while True:
            ready = select.select([self._descriptor, self._wake], [], [], keyboard.patience_s)[0]
            if self._wake in ready:
                return
            if not ready:
                found = keyboard.give_up()
            else:
                try:
                    data = os.read(self._descriptor, 4096)
                except OSError:
                    data = b""
                if not data:
                    self._hung_up()
                    return
                found = keyboard.feed(data)
            for message in found:
                self._handle(message)
