"""What comes from the terminal and what is sent to it: a thread for each, the event loop waits for neither."""

from __future__ import annotations

import os
import select
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
    """A thread that hands on what the keyboard sends, and sleeps while it sends nothing.

    It reads on when the application has carried out what came before: a flood of input waits in the terminal,
    which holds whoever sends it, instead of in memory.
    """

    def __init__(
        self,
        descriptor: int,
        handle: Callable[[Any], None],
        when_taken: Callable[[Callable[[], None]], None],
        hung_up: Callable[[], None],
    ) -> None:
        """Give each message to `handle`, and call `hung_up` when the terminal is gone.

        `when_taken` calls its argument back when what was handed on before has been carried out.
        """
        self._descriptor = descriptor
        self._handle = handle
        self._when_taken = when_taken
        self._hung_up = hung_up
        self._wake, self._waker = os.pipe()
        self._taken = threading.Event()
        self._stopping = False
        self._thread = threading.Thread(target=self._run, name="tabterm-input", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the thread."""
        self._stopping = True
        self._taken.set()
        os.write(self._waker, b".")
        self._thread.join()
        os.close(self._wake)
        os.close(self._waker)

    def _run(self) -> None:
        keyboard = Keyboard(time.monotonic)
        while not self._stopping:
            ready = select.select([self._descriptor, self._wake], [], [], keyboard.patience_s)[0]
            if self._wake in ready:
                return
            if not ready:
                self._hand_on(keyboard.give_up())
                continue
            try:
                data = os.read(self._descriptor, AT_ONCE)
            except OSError:
                data = b""
            if not data:
                self._hung_up()
                return
            self._hand_on(keyboard.feed(data))

    def _hand_on(self, messages: list[Message]) -> None:
        """Hand messages on, and wait until they are carried out or the thread is to end."""
        for message in messages:
            self._handle(message)
        if any(not isinstance(message, Settled) for message in messages):
            self._taken.clear()
            if not self._stopping:
                self._when_taken(self._taken.set)
                self._taken.wait()


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
        self._quick = _unblocked(descriptor)
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


def _unblocked(terminal: int) -> int | None:
    """Another descriptor of a terminal, which takes at once what it can; None where there is none."""
    try:
        return os.open(os.ttyname(terminal), os.O_WRONLY | os.O_NONBLOCK | os.O_NOCTTY)
    except OSError:
        return None
