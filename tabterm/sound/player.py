"""The player: the editor's end of the engine; starts it, gives it plans, knows where the sound is."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from array import array
from bisect import bisect_right
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from tabterm.sound.link import Frame, Link
from tabterm.sound.plan import Plan

if TYPE_CHECKING:
    from tabterm.performance import Performance
    from tabterm.score.place import Place

State = Literal["idle", "playing", "failed"]

PATIENCE_S = 3.0
"""How long an answer of the engine is waited for where one is needed."""

END_WITHIN_S = 0.5
"""How long the engine may take to end before it is killed."""

GLANCE_S = 0.001


class Player:
    """One engine process and what it is playing. Nothing waits for the sound, except where it says so.

    An event loop may watch `fileno()` and call `receive()` when it is readable; `state` and `place` take in
    what has come as well, so that a caller who never watches is told the truth too.

    Attributes:
        message: Why it failed.
        hint: What to do about it; "" where only another way to hear the music helps, such as a MIDI file.
        port_name: Where it plays to, once it has started.
        started_s: When the first message of the last plan was due, on the monotonic clock; None before.
        late_s: How late each message of the last plan was sent, in s, where that was asked for.
    """

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._link: Link | None = None
        self._performance: Performance | None = None
        self._turns = 1
        self._number = 0
        self._ports: list[str] | None = None
        self._state: State = "idle"
        self.message = ""
        self.hint = ""
        self.port_name = ""
        self.started_s: float | None = None
        self.late_s: array[float] = array("d")

    def start(self, port: str | None = None, *, virtual: bool = False) -> None:
        """Start the engine's process, without waiting for it, and let it open its port beforehand."""
        self.receive()
        if self._link is not None:
            return
        ours, its = socket.socketpair()
        with its:
            self._process = subprocess.Popen(
                # Without `site` it starts sooner, and nothing in the working folder can stand in for a module.
                [sys.executable, "-S", "-P", "-m", "tabterm.sound.engine", str(its.fileno())],
                pass_fds=(its.fileno(),),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,  # a stopped terminal job must not stop it inside a note
                env=os.environ | {"PYTHONPATH": _module_path()},
            )
        self._link = Link(ours)
        self._send("warm", port=port, virtual=virtual)

    def play(
        self,
        performance: Performance,
        *,
        loop: int = 1,
        port: str | None = None,
        virtual: bool = False,
        measures_lateness: bool = False,
    ) -> None:
        """Play at once, in place of what sounds.

        Args:
            performance: What to play.
            loop: Number of turns, 0 until stopped; the count-in is played before the first only.
            port: Part of a port's name; None for the first port.
            virtual: Make a port of that name for others to connect to.
            measures_lateness: Report in `late_s` how late each message was sent.
        """
        self.start(port, virtual=virtual)
        self._number += 1
        self._performance, self._turns, self.started_s = performance, loop, None
        self._state, self.message, self.hint, self.port_name = "playing", "", "", ""
        plan = Plan.of(
            performance,
            number=self._number,
            turns=loop,
            port=port,
            virtual=virtual,
            measures_lateness=measures_lateness,
        )
        body, values = plan.packed()
        self._send("play", body, **values)

    def stop(self) -> None:
        """Silence at once."""
        if self.state == "playing":
            self._send("stop")
        self._state = "idle"

    @property
    def state(self) -> State:
        """`playing` from the order on; `failed` when that could not be done (see `message`)."""
        self.receive()
        return self._state

    def place(self) -> Place | None:
        """Where in the score the sound is; None before the first mark and when nothing plays."""
        performance = self._performance
        if self.state != "playing" or self.started_s is None or performance is None:
            return None
        at_s = time.monotonic() - self.started_s
        if at_s > performance.duration_s and self._turns != 1:
            loop_s = performance.duration_s - performance.lead_s
            at_s = performance.lead_s + (at_s - performance.lead_s) % loop_s
        number = bisect_right(performance.marks, at_s, key=lambda mark: mark.time_s) - 1
        return performance.marks[number].place if number >= 0 else None

    def ports(self) -> list[str]:
        """Names of the ports that can be played to; waits for the engine's answer."""
        self.start()
        self._ports = None
        self._send("ports")
        deadline_s = time.monotonic() + PATIENCE_S
        while self._ports is None and self._link is not None and time.monotonic() < deadline_s:
            self._link.wait(deadline_s - time.monotonic())
            self.receive()
        return self._ports or []

    def fileno(self) -> int | None:
        """The descriptor to watch for reports; None while there is no engine. A new engine has a new one."""
        return None if self._link is None else self._link.fileno()

    def receive(self) -> None:
        """Take in the reports that have come."""
        if self._link is None:
            return
        try:
            for frame in self._link.receive():
                self._take(frame)
        except (EOFError, OSError):
            self._lost()

    def silence_now(self, timeout_s: float) -> None:
        """End the engine, which silences everything, and wait for it so long; safe in a signal handler."""
        if self._process is None:
            return
        deadline_s = time.monotonic() + timeout_s
        self._process.terminate()
        while self._process.poll() is None and time.monotonic() < deadline_s:
            time.sleep(GLANCE_S)

    def close(self) -> None:
        """Silence, and end the engine."""
        if self._link is not None:
            self._link.close()
            self._link = None
        if self._process is not None:
            try:
                self._process.wait(END_WITHIN_S)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
            self._process = None
        self._state = "idle"

    def _send(self, word: str, body: bytes = b"", **values: Any) -> None:
        if self._link is None:
            return
        try:
            self._link.send(word, body, **values)
        except OSError:
            self._lost()

    def _take(self, frame: Frame) -> None:
        values = frame.values
        if frame.word == "ports":
            self._ports = values["names"]
        elif values["number"] != self._number or self._state != "playing":
            return
        elif frame.word == "started":
            self.started_s, self.port_name = values["start_s"], values["port"]
        elif frame.word == "ended":
            self.late_s = array("d", frame.body)
            self._state = "idle"
        elif frame.word == "failed":
            self._fail(values["message"], values["hint"])

    def _lost(self) -> None:
        """The engine has ended: a new one is started with the next order."""
        state = self._state
        self.close()
        self._state = state
        if state == "playing":
            self._fail("the sound engine has stopped", "play again to restart it")

    def _fail(self, message: str, hint: str) -> None:
        self._state, self.message, self.hint = "failed", message, hint


def _module_path() -> str:
    """Where the engine finds the modules that are found here, this one first."""
    root = str(Path(__file__).parents[2])
    return os.pathsep.join([root, *(path for path in sys.path if path)])
