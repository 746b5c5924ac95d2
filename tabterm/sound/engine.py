"""The engine: a process of its own that sends messages on time, whatever the editor is doing.

A thread in the editor's process would wait for the interpreter's lock, up to tens of milliseconds while the
screen is painted. Here the wait sleeps on the link to the editor until a millisecond before the deadline and
spins the rest, so that a stop is obeyed at once. When the link ends (the editor has been left, or killed),
everything is silenced and the process ends.
"""

from __future__ import annotations

import contextlib
import gc
import os
import resource
import signal
import socket
import sys
import time
from array import array
from bisect import bisect_left
from typing import TYPE_CHECKING, NoReturn

from tabterm.errors import SoundError
from tabterm.sound.link import Frame, Link
from tabterm.sound.plan import MESSAGE_BYTES, Plan
from tabterm.sound.ports import Port, list_ports, open_port

if TYPE_CHECKING:
    from types import FrameType

SPIN_S = 0.001
START_S = 0.005
"""From the order to the first message: enough for the setup messages."""

LOOK_S = 0.1
"""How often a port that is played to is looked for: a library may hang on one that has gone."""

HANG_S = 3
"""A library that does not come back for so long takes the process with it."""

IDLE_LOOK_S = 1.0
"""How often the port is looked for while nothing plays: pulled out and put back, it would stay silent."""

SETTLE_S = 0.02
"""After a port has been opened: the connection takes effect with the MIDI system's next period."""

DRAIN_S = 0.06
"""The MIDI system takes the last messages in this time: more than the longest usual JACK period (46 ms)."""


REAL_TIME_US = 500_000
"""With real-time priority the kernel ends a process that does not once wait in so long."""


class Engine:
    """Obeys the editor at the other end of a link; talks to one port at a time."""

    def __init__(self, link: Link) -> None:
        self._link = link
        self._orders: list[Frame] = []
        self._port: Port | None = None
        self._wanted: tuple[str | None, bool] | None = None
        self._looked_s = 0.0
        self._heard_s = 0.0
        self._on: set[tuple[int, int]] = set()

    def run(self) -> NoReturn:
        """Obey until the link ends; raises EOFError then, and SoundError when the port has gone."""
        while True:
            while not self._orders:
                if self._link.wait(IDLE_LOOK_S if self._port else None):
                    self._orders += self._link.receive()
                else:
                    self._look(time.monotonic())
            frame = self._orders.pop(0)
            if frame.word == "play":
                self._play(Plan.unpacked(frame.body, **frame.values))
            elif frame.word == "warm":
                self._warm(**frame.values)
            elif frame.word == "ports":
                self._link.send("ports", names=list_ports())

    def _warm(self, port: str | None, *, virtual: bool) -> None:
        """Open the port beforehand; that there is none is said when something is to be played."""
        with contextlib.suppress(SoundError):
            self._open(port, virtual=virtual)

    def _play(self, plan: Plan) -> None:
        signal.alarm(HANG_S)
        try:
            port = self._open(plan.order.port, virtual=plan.order.virtual)
        except SoundError as error:
            self._fail(plan, error)
            return
        finally:
            signal.alarm(0)
        try:
            self._perform(plan, port)
        except SoundError as error:
            self._fail(plan, error)
            raise
        finally:
            signal.alarm(0)

    def _fail(self, plan: Plan, error: SoundError) -> None:
        self._link.send("failed", number=plan.order.number, message=error.message, hint=error.hint)

    def _open(self, wanted: str | None, *, virtual: bool) -> Port:
        if self._port is not None and self._wanted == (wanted, virtual):
            return self._port
        self.let_go()
        self._port, self._wanted = open_port(wanted, virtual=virtual), (wanted, virtual)
        time.sleep(SETTLE_S)
        return self._port

    def _perform(self, plan: Plan, port: Port) -> None:
        """Send a plan, turn after turn; the times of a turn are counted from the start, so that none drifts."""
        order, times, data = plan.order, plan.times, plan.data
        for message in plan.setup:
            port.send(message)
        start_s = time.monotonic() + START_S
        self._link.send("started", number=order.number, start_s=start_s, port=port.name)
        late, first, turn = array("d"), 0, 0
        while turn < order.turns or not order.turns:
            shift_s = start_s + turn * (order.duration_s - order.lead_s)
            for number in range(first, len(times)):
                if not self._wait_until(shift_s + times[number]):
                    self.silence(at_once=True)
                    return
                self._send(port, data[number * MESSAGE_BYTES : (number + 1) * MESSAGE_BYTES])
                if order.measures_lateness:
                    late.append(time.monotonic() - shift_s - times[number])
            first, turn = bisect_left(times, order.lead_s), turn + 1
        in_time = self._wait_until(shift_s + order.duration_s)
        self.silence(at_once=not in_time)
        if in_time:
            self._link.send("ended", late.tobytes(), number=order.number)

    def _wait_until(self, deadline_s: float) -> bool:
        """Wait; False when another order came in the meantime. Raises SoundError when the port has gone."""
        while True:
            now_s = time.monotonic()
            if now_s >= deadline_s and now_s - self._heard_s < SPIN_S:
                return True  # of the same moment as the message before
            left_s = deadline_s - now_s - SPIN_S
            if now_s - self._looked_s > LOOK_S and (left_s > SPIN_S or now_s - self._looked_s > 10 * LOOK_S):
                self._look(now_s)
                continue
            came = self._link.wait(min(max(left_s, 0.0), LOOK_S))
            self._heard_s = time.monotonic()
            if came:
                if self._interrupted():
                    return False
                continue
            if left_s <= LOOK_S:
                break
        while time.monotonic() < deadline_s:
            pass
        return True

    def _look(self, now_s: float) -> None:
        """See whether the port is still there, and tell the kernel that nothing hangs."""
        signal.alarm(HANG_S)
        self._looked_s = now_s
        if self._port is not None and not self._port.is_there():
            name, self._port = self._port.name, None
            raise SoundError(f"the port '{name}' has gone", hint="play again when it is back, or choose another")

    def _interrupted(self) -> bool:
        """Take orders while playing; True when one ends the playing."""
        for frame in self._link.receive():
            if frame.word == "ports":
                self._link.send("ports", names=list_ports())
            else:
                self._orders.append(frame)
        return bool(self._orders)

    def _send(self, port: Port, message: bytes) -> None:
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        if kind == 0x90:
            self._on.add((channel, message[1]))
        elif kind == 0x80:
            self._on.discard((channel, message[1]))
        port.send(message)

    def silence(self, *, at_once: bool) -> None:
        """Every note off, and bends let down; `at_once` cuts what is dying away as well.

        Controllers of the MIDI 1.0 specification: 123 all notes off, 120 all sound off.
        """
        if self._port is None:
            return
        for channel, note in sorted(self._on):
            self._port.send(bytes((0x80 | channel, note, 0)))
        self._on.clear()
        for channel in range(10):
            for controller in (123, 120) if at_once else (123,):
                self._port.send(bytes((0xB0 | channel, controller, 0)))
            self._port.send(bytes((0xE0 | channel, 0, 64)))

    def let_go(self) -> None:
        """Close the port, once what has been sent is out."""
        if self._port is not None:
            time.sleep(DRAIN_S)
            self._port.close()
            self._port = None


def main(descriptor: int) -> NoReturn:
    """Run an engine on an inherited end of a link, until that ends or a signal comes."""
    endings = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
    for number in endings:
        signal.signal(number, _end)
    gc.disable()
    _take_precedence()
    engine = Engine(Link(socket.socket(fileno=descriptor)))
    try:
        engine.run()
    except (EOFError, OSError, SoundError):
        pass  # the editor has gone, or the port, of which it was told
    finally:
        for number in endings:
            signal.signal(number, signal.SIG_IGN)
        signal.alarm(HANG_S)
        with contextlib.suppress(Exception):
            engine.silence(at_once=True)
            engine.let_go()
        os._exit(0)  # nothing waits for a MIDI system that has gone


def _take_precedence() -> None:
    """Ask for real-time priority, where the system grants it (as many do to members of an audio group).

    Without it, notes are milliseconds late now and then on a machine all of whose cores are busy.
    """
    with contextlib.suppress(AttributeError, OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_RTTIME, (REAL_TIME_US, REAL_TIME_US))
        os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(1))


def _end(_number: int, _frame: FrameType | None) -> NoReturn:
    raise SystemExit


if __name__ == "__main__":
    main(int(sys.argv[1]))
