"""The player: the editor's end of the engine; starts it, gives it plans, knows where the sound is."""

from __future__ import annotations

import contextlib
import os
import socket
import subprocess
import sys
import time
from bisect import bisect_right
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any

from tabterm.sound.plan import Plan

if TYPE_CHECKING:
    from tabterm.performance import Performance
    from tabterm.score.place import Place

BURY_S = 0.5
"""How long the engine may take to end before it is killed."""

PATIENCE_S = 3.0
"""How long an answer of the engine is waited for where one is needed."""


class Player:
    """One engine process and what it is playing.

    Attributes:
        state: `idle`, `playing` (from the order on) or `failed`.
        message: Why it failed.
        port_name: Where it plays to, once it has started.
        late: How late each message of the last plan was sent, in s, where that was asked for.
    """

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._control: Connection | None = None
        self._performance: Performance | None = None
        self._plan: Plan | None = None
        self._number = 0
        self._started: float | None = None
        self._ports: list[str] | None = None
        self._state = "idle"
        self.message = ""
        self.port_name = ""
        self.late: list[float] = []

    def start(self, port: str | None = None, *, virtual: bool = False) -> None:
        """Start the engine's process, without waiting for it, and let it open its port beforehand."""
        if self._process is not None and self._process.poll() is None:
            return
        ours, its = socket.socketpair()
        with ours, its:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "tabterm.sound.engine", str(its.fileno())],
                pass_fds=(its.fileno(),),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
            )
            self._control = Connection(ours.detach())
        self._order("warm", (port, virtual))

    def play(
        self,
        performance: Performance,
        *,
        loop: int = 1,
        port: str | None = None,
        virtual: bool = False,
        measures_lateness: bool = False,
    ) -> None:
        """Play at once, in place of what sounds; `loop` is the number of turns, 0 until stopped."""
        self.start(port, virtual=virtual)
        self._number += 1
        messages = tuple((each.time_s, each.data) for each in performance.messages)
        self._plan = Plan(
            self._number,
            performance.setup,
            messages,
            tuple(message for message in messages if message[0] >= performance.lead_s),
            performance.lead_s,
            performance.duration_s,
            loop,
            port,
            virtual,
            measures_lateness,
        )
        self._performance, self._started = performance, None
        self._state, self.message = "playing", ""
        self._order("play", self._plan)

    def stop(self) -> None:
        """Silence at once."""
        if self._state == "playing":
            self._order("stop", None)
        self._state = "idle"

    @property
    def state(self) -> str:
        """What the engine does, as far as its reports have come in."""
        self._receive()
        return self._state

    def place(self) -> Place | None:
        """Where in the score the sound is; None before the first mark and when nothing plays."""
        self._receive()
        performance, plan = self._performance, self._plan
        if self._state != "playing" or self._started is None or performance is None or plan is None:
            return None
        at_s = time.monotonic() - self._started
        if at_s > performance.duration_s and (plan.turns != 1):
            loop_s = performance.duration_s - performance.lead_s
            at_s = performance.lead_s + (at_s - performance.lead_s) % loop_s
        number = bisect_right(performance.marks, at_s, key=lambda mark: mark.time_s) - 1
        return performance.marks[number].place if number >= 0 else None

    def ports(self) -> list[str]:
        """Names of the ports that can be played to; waits for the engine's answer."""
        self.start()
        self._ports = None
        self._order("ports", None)
        deadline = time.monotonic() + PATIENCE_S
        while self._ports is None and time.monotonic() < deadline and self._control is not None:
            self._receive(0.05)
        return self._ports or []

    def silence_now(self, timeout_s: float) -> None:
        """End the connection, upon which the engine silences everything; safe in a signal handler."""
        if self._control is not None:
            with contextlib.suppress(OSError):
                with socket.socket(fileno=os.dup(self._control.fileno())) as connection:
                    connection.shutdown(socket.SHUT_RDWR)
        if self._process is not None:
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(timeout_s)

    def close(self) -> None:
        """Silence, and end the engine."""
        self.silence_now(PATIENCE_S)
        if self._control is not None:
            self._control.close()
            self._control = None
        self._bury()
        self._state = "idle"

    def _bury(self) -> None:
        """See the process off, if it has not ended by itself."""
        if self._process is not None:
            try:
                self._process.wait(BURY_S)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
            self._process = None

    def _order(self, order: str, argument: Any) -> None:
        try:
            if self._control is not None:
                self._control.send((order, argument))
        except OSError:
            self._lost()

    def _receive(self, wait_s: float = 0.0) -> None:
        """Take the reports that have come in."""
        try:
            while self._control is not None and self._control.poll(wait_s):
                wait_s = 0.0
                self._take(*self._control.recv())
        except (EOFError, OSError):
            self._lost()

    def _take(self, report: str, argument: Any) -> None:
        if report == "ports":
            self._ports = argument
            return
        if argument[0] != self._number:
            return
        if report == "started":
            _, self._started, self.port_name = argument
        elif report == "ended":
            self._state, self.late = "idle", argument[1]
        elif report == "failed":
            self._state, self.message = "failed", argument[1]

    def _lost(self) -> None:
        """The engine has died: a new one is started with the next order."""
        if self._control is not None:
            self._control.close()
        self._control = None
        self._bury()
        if self._state == "playing":
            self._state, self.message = "failed", "the sound engine has stopped; play again to restart it"
