"""The engine: a process of its own that sends messages on time, whatever the editor is doing.

A thread in the editor's process would wait for the interpreter's lock, up to tens of milliseconds while the
screen is painted. Here the wait sleeps on the control connection until a millisecond before the deadline and
spins the rest, so that a stop is obeyed at once. When the connection ends (the editor has been left, or
killed), everything is silenced and the process ends.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any

from tabterm.errors import SoundError
from tabterm.sound.ports import Port, list_ports, open_port

if TYPE_CHECKING:
    from tabterm.sound.plan import Plan

SPIN_S = 0.001
DRAIN_S = 0.02
"""Before a port is closed for good: the MIDI system takes the last messages out of its buffer meanwhile."""

SETTLE_S = 0.01
"""After a port has been opened: the connection takes effect with the MIDI system's next period."""

START_S = 0.005
"""From the order to the first message: enough for the setup messages."""


class Engine:
    """Obeys a control connection; talks to one port at a time."""

    def __init__(self, control: Connection) -> None:
        self._control = control
        self._port: Port | None = None
        self._wanted: tuple[str | None, bool] | None = None
        self._on: set[tuple[int, int]] = set()

    def run(self) -> None:
        """Obey until the connection ends."""
        try:
            while True:
                order, argument = self._control.recv()
                if order == "play":
                    self._play(argument)
                elif order == "ports":
                    self._control.send(("ports", list_ports()))
                elif order == "warm":
                    self._warm(argument)
        except (EOFError, OSError):
            pass
        finally:
            self._silence()
            time.sleep(DRAIN_S)
            self._let_go()

    def _warm(self, argument: tuple[str | None, bool]) -> None:
        """Open the port beforehand; that there is none is said when something is to be played."""
        try:
            self._open(*argument)
        except SoundError:
            self._let_go()

    def _play(self, plan: Plan) -> None:
        try:
            self._send_plan(plan)
        except SoundError as error:
            self._on.clear()
            self._let_go()
            self._control.send(("failed", (plan.number, str(error))))

    def _open(self, wanted: str | None, virtual: bool) -> Port:
        if self._port is not None and self._wanted != (wanted, virtual):
            self._let_go()
        if self._port is not None and not self._port.is_there():
            self._let_go()
        if self._port is None:
            self._port = open_port(wanted, virtual=virtual)
            time.sleep(SETTLE_S)
            self._wanted = (wanted, virtual)
        return self._port

    def _send_plan(self, plan: Plan) -> None:
        port = self._open(plan.port, plan.virtual)
        for message in plan.setup:
            self._send(port, message)
        start = time.monotonic() + START_S
        self._control.send(("started", (plan.number, start, port.name)))
        late: list[float] = []
        turn, loop_s = 0, plan.duration_s - plan.lead_s
        while True:
            shift = start + turn * loop_s
            for time_s, message in plan.messages if turn == 0 else plan.looped:
                if not self._wait_until(shift + time_s):
                    self._silence()
                    return
                self._send(port, message)
                if plan.measures_lateness:
                    late.append(time.monotonic() - shift - time_s)
            turn += 1
            if plan.turns and turn >= plan.turns:
                break
        in_time = self._wait_until(start + plan.lead_s + turn * loop_s)
        self._silence()
        if in_time:
            self._control.send(("ended", (plan.number, late)))

    def _wait_until(self, deadline: float) -> bool:
        """Wait; False when an order came in the meantime."""
        remaining = deadline - time.monotonic()
        if remaining > SPIN_S:
            if self._control.poll(remaining - SPIN_S):
                return False
        elif self._control.poll(0):
            return False
        while time.monotonic() < deadline:
            pass
        return True

    def _send(self, port: Port, message: bytes) -> None:
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        if kind == 0x90 and message[2]:
            self._on.add((channel, message[1]))
        elif kind in {0x80, 0x90}:
            self._on.discard((channel, message[1]))
        port.send(message)

    def _silence(self) -> None:
        """Every note off: those known to sound, then all that a synthesiser may still hold."""
        if self._port is None:
            return
        try:
            for channel, note in sorted(self._on):
                self._port.send(bytes((0x80 | channel, note, 0)))
            for channel in range(10):
                self._port.send(bytes((0xE0 | channel, 0, 64)))
                for controller in (123, 120):  # all notes off, all sound off (MIDI 1.0)
                    self._port.send(bytes((0xB0 | channel, controller, 0)))
        except SoundError:
            self._let_go()
        self._on.clear()

    def _let_go(self) -> None:
        if self._port is not None:
            self._port.close()
            self._port = None


def main(descriptor: int) -> None:
    """Run an engine on an inherited control connection; printed text goes nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    for number in (signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)  # the control connection says when to end

    def end(*_: Any) -> None:
        raise EOFError

    signal.signal(signal.SIGTERM, end)
    Engine(Connection(descriptor)).run()


if __name__ == "__main__":
    main(int(sys.argv[1]))
