"""What comes from the terminal, as fast as the application carries it out."""

from __future__ import annotations

import os
import select
import threading
import time
from typing import TYPE_CHECKING, Any

from tabterm.tui.terminal.keyboard import Keyboard, Settled

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.message import Message

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
