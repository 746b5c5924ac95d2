"""What comes from the terminal and what is sent to it; the event loop waits for neither."""

from __future__ import annotations

import asyncio
import os
import threading
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Any, cast

from tabterm.tui.terminal.keyboard import Keyboard, Settled

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.message import Message

    from tabterm.tui.terminal.wire import Wire


AT_ONCE = 1024
"""Bytes of input that are read and carried out before more are read."""


class Reader:
    """Hands on what the keyboard sends when the event loop finds that something has come.

    It reads on when the application has carried out what came before: a flood of input waits in the terminal,
    which holds whoever sends it, instead of in memory.
    """

    def __init__(
        self,
        descriptor: int,
        carry_out: Callable[[Message], bool],
        handle: Callable[[Any], None],
        when_taken: Callable[[Callable[[], None]], None],
        hung_up: Callable[[], None],
    ) -> None:
        """Give each message to `handle`, and call `hung_up` when the terminal is gone.

        A message that comes alone is offered to `carry_out` first, which tells whether it has done so.
        `when_taken` calls its argument back when what was handed on before has been carried out.
        """
        self._loop = asyncio.get_running_loop()
        self._own = _unblocked(descriptor, os.O_RDONLY)
        self._descriptor = descriptor if self._own is None else self._own
        self._carry_out = carry_out
        self._handle = handle
        self._when_taken = when_taken
        self._hung_up = hung_up
        self._keyboard = Keyboard(time.monotonic)
        self._giving_up: asyncio.TimerHandle | None = None
        self._stopped = False
        self._go_on()

    def stop(self) -> None:
        """Read no more."""
        self._pause()
        if self._own is not None and not self._stopped:
            os.close(self._own)
        self._stopped = True

    def _go_on(self) -> None:
        """Read on, unless it has ended; what is unfinished is waited for from now."""
        if self._stopped:
            return
        self._loop.add_reader(self._descriptor, self._read)
        if self._keyboard.patience_s is not None:
            self._giving_up = self._loop.call_later(self._keyboard.patience_s, self._give_up)

    def _pause(self) -> None:
        if not self._stopped:
            self._loop.remove_reader(self._descriptor)
            self._wait_no_longer()

    def _wait_no_longer(self) -> None:
        if self._giving_up is not None:
            self._giving_up.cancel()
            self._giving_up = None

    def _give_up(self) -> None:
        self._giving_up = None
        self._hand_on(self._keyboard.give_up())

    def _read(self) -> None:
        self._wait_no_longer()
        try:
            data = os.read(self._descriptor, AT_ONCE)
        except BlockingIOError:  # another process has taken it
            return
        except OSError:
            data = b""
        if not data:
            self.stop()
            self._hung_up()
            return
        self._hand_on(self._keyboard.feed(data))

    def _hand_on(self, messages: list[Message]) -> None:
        """Have messages carried out, and read on at once or when they are."""
        alone = len(messages) == 1 and self._carry_out(messages[0])
        if not alone:
            for message in messages:
                self._handle(message)
        if alone or all(isinstance(message, Settled) for message in messages):
            if self._keyboard.patience_s is not None:
                self._go_on()
        else:
            self._pause()
            self._when_taken(self._go_on)


ASK = "\x1b[5n"
"""Asks the terminal for a sign of life (DSR), which it gives when it has shown what came before."""

ASK_AFTER = 256
"""Bytes after which it is asked."""

AHEAD = 1536
"""Bytes that may be on their way without an answer before frames are skipped."""

LOST_S = 3.0
"""An answer that takes longer is taken for lost."""

FAREWELL_S = 0.5
"""How long a terminal that takes nothing may hold up the end of the program."""


class Writer:
    """A thread that sends frames: each is made when the one before has been taken, from what is wanted then.

    A line may hold many seconds of output for a terminal behind it that is slow. So the terminal is asked now and
    then whether it has shown everything; one that answers is never more than a screenful behind.
    """

    def __init__(self, wire: Wire, descriptor: int) -> None:
        self._wire = wire
        self._descriptor = descriptor
        self._condition = threading.Condition()
        self._sequences = b""
        self._due = False
        self._busy = False
        self._stopping = False
        self._answers = False
        self._unanswered = 0
        self._asked_about = 0
        self._asked_s: float | None = None
        self._quick = _unblocked(descriptor, os.O_WRONLY)
        self._thread = threading.Thread(target=self._run, name="tabterm-output", daemon=True)
        self._thread.start()

    def send(self, sequence: str) -> None:
        """Send a sequence before the next frame."""
        with self._condition:
            self._sequences += sequence.encode(errors="replace")
            self._condition.notify()

    def due(self) -> None:
        """A frame is due: sent at once where nothing waits, as far as the terminal takes it without waiting."""
        with self._condition:
            self._due = True
            if self._quick is not None and not (
                self._busy or self._sequences or self._stopping or self._is_ahead()
            ):
                self._due = False
                self._sequences = self._frame()
                with suppress(
                    OSError
                ):  # the thread waits for a terminal that takes nothing, or sees what is wrong
                    self._sequences = self._sequences[os.write(self._quick, self._sequences) :]
            if self._has_work():
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
        if self._quick is not None:
            os.close(self._quick)
            self._quick = None

    def _run(self) -> None:
        while True:
            with self._condition:
                while not self._has_work():
                    self._condition.wait(self._wait_s())
                sequences, self._sequences = self._sequences, b""
                due, self._due = self._due, False
                stopping = self._stopping
                self._busy = True
            if not self._write(sequences + (self._frame() if due and not stopping else b"")) or stopping:
                return
            self._busy = False

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

    def _frame(self) -> bytes:
        with self._wire.lock:
            frame = self._wire.frame()
        with self._condition:
            self._unanswered += len(frame)
            lost = self._asked_s is not None and time.monotonic() > self._asked_s + LOST_S
            if self._unanswered >= ASK_AFTER and (self._asked_s is None or (lost and self._answers)):
                self._asked_s, self._asked_about = time.monotonic(), self._unanswered
                frame += ASK
        return frame.encode(errors="replace")

    def _write(self, raw: bytes) -> bool:
        """Send it all, however long that takes; False when there is no terminal any more."""
        try:
            while raw:
                raw = raw[os.write(self._descriptor, raw) :]
        except OSError:
            return False
        return True


def _unblocked(terminal: int, way: int) -> int | None:
    """Another descriptor of a terminal, which gives or takes at once what it can; None where there is none."""
    try:
        return os.open(os.ttyname(terminal), way | os.O_NONBLOCK | os.O_NOCTTY)
    except OSError:
        return None
