"""The engine: a process of its own that plays on time, whatever the editor is doing.

A thread in the editor's process would wait for the interpreter's lock, up to tens of milliseconds while the
screen is painted. Here the wait sleeps on the link to the editor until a millisecond before the deadline and
spins the rest, so that a stop is obeyed at once. When the link ends (the editor has been left, or killed),
everything is silenced and the process ends.
"""

from __future__ import annotations

import contextlib
import gc
import math
import os
import signal
import socket
import sys
import time
from typing import TYPE_CHECKING, NoReturn

from tabterm.errors import SoundError
from tabterm.sound import packing
from tabterm.sound.link import Frame, Link
from tabterm.sound.outputs import ANY, OutputKind, Wish, found, open_output, silence_port
from tabterm.sound.precedence import give_way, take_precedence

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

    from tabterm.sound.outputs import Output

SPIN_S = 0.001  #: s; implementation limit

LOOK_S = 0.1  #: s; implementation limit
"""How often an output that is played to is looked for: a library may hang on one that has gone."""

IDLE_LOOK_S = 1.0  #: s; implementation limit
"""How often it is looked for while nothing plays: pulled out and put back, a port would stay silent."""

HANG_S = 3  #: s; implementation limit
"""A library that does not come back for so long takes the process with it."""

OPEN_WITHIN_S = 15  #: s; implementation limit
"""The same while an output is opened and what it needs is loaded from the disk."""

SWITCH_S = 0.0005  #: s; implementation limit
"""How long one thread may keep another of the engine from the interpreter."""


class Engine:
    """Obeys the editor at the other end of a link; plays to one output at a time."""

    def __init__(self, link: Link) -> None:
        self._link = link
        self._output: Output | None = None
        self._wish = ANY
        self._number = 0
        self._heard_s = 0.0
        self._looked_s = 0.0
        self._plays = False

    def run(self) -> NoReturn:
        """Obey until the link ends; raises EOFError then, and SoundError when the output has gone."""
        while True:
            try:
                due_s = self._output.work() if self._output else None
                if due_s is None and self._plays:
                    self._rest()
                frames = self._wait(due_s)
            except SoundError as error:
                self._fail(error, ends=True)
                raise
            for frame in frames:
                self._obey(frame)

    def _obey(self, frame: Frame) -> None:
        if frame.word in {"play", "change", "then"}:
            self._take(frame)
        elif frame.word == "stop" and self._output:
            self._output.stop()
        elif frame.word == "warm":
            self._warm(
                Wish(OutputKind(frame.values["kind"]) if frame.values["kind"] else None, frame.values["name"])
            )
        elif frame.word == "outputs":
            signal.alarm(OPEN_WITHIN_S)
            self._link.send("outputs", found=[[kind.value, name] for kind, name in found()])
            signal.alarm(0)
        elif frame.word == "silence":
            with contextlib.suppress(SoundError), _at_leisure(OPEN_WITHIN_S):
                silence_port(frame.values["name"])
            self._link.send("silenced")

    def _warm(self, wish: Wish) -> None:
        """Open the output beforehand; that there is none is said when something is to be played."""
        if wish != self._wish:
            self.let_go()
        self._wish = wish
        with contextlib.suppress(SoundError):
            self._ready()

    def _take(self, frame: Frame) -> None:
        """Play what came, at once or when its moment is there."""
        self._number = frame.values["number"]
        try:
            plan = packing.unpacked(frame.body, **frame.values)
            output = self._ready()
        except SoundError as error:
            self._fail(error)
            return
        if plan.record is not None and output.kind is not OutputKind.DEVICE:
            where = f"'{output.name}' takes notes only: a recording needs an audio device"
            self._fail(SoundError(where, hint="B plays the tab; the command 'output' chooses a device"))
            return
        self._plays = True
        {"play": output.play, "change": output.change, "then": output.then}[frame.word](plan)

    def _fail(self, error: SoundError, *, ends: bool = False) -> None:
        """Say that nothing plays, and whether the engine ends with that: a library of a lost output may hang."""
        self._link.send("failed", number=self._number, message=error.message, hint=error.hint, ends=ends)

    def _ready(self) -> Output:
        if self._output is not None:
            return self._output
        with _at_leisure(OPEN_WITHIN_S):
            return self._use(open_output(self._wish, self._link.send))

    def _use(self, output: Output) -> Output:
        self._output = output
        self._link.send("output", kind=output.kind.value, name=output.name)
        return output

    def _rest(self) -> None:
        """Everything has been played: see whether something better than a makeshift has come back meanwhile."""
        self._plays = False
        if self._wish == ANY and self._output:
            with contextlib.suppress(SoundError), _at_leisure(OPEN_WITHIN_S):
                better = open_output(ANY, self._link.send, better_than=self._output.kind)
                self.let_go()
                self._use(better)
        signal.alarm(0)

    def _wait(self, due_s: float | None) -> list[Frame]:
        """Wait for orders, or until something is due. Raises SoundError when the output has gone."""
        every_s = IDLE_LOOK_S if due_s is None else LOOK_S
        exact = self._output is not None and self._output.exact
        while True:
            now_s = time.monotonic()
            left_s = math.inf if due_s is None else due_s - now_s - (SPIN_S if exact else 0.0)
            if left_s <= 0 and now_s - self._heard_s < SPIN_S:
                break  # of the same moment as what was due before
            since_s = now_s - self._looked_s
            if self._output and since_s > every_s and (left_s > SPIN_S or since_s > 10 * every_s):
                self._look(self._output)
                continue
            longest_s = max(every_s - since_s, 0.0) if self._output else math.inf
            limit_s = min(max(left_s, 0.0), max(longest_s, SPIN_S))
            came = self._link.wait(None if limit_s == math.inf else limit_s)
            self._heard_s = time.monotonic()
            if came:
                return self._link.receive()
            if left_s <= limit_s:
                break
        while exact and due_s is not None and time.monotonic() < due_s:
            pass
        return []

    def _look(self, output: Output) -> None:
        """See whether the output is still there, and tell the kernel that nothing hangs."""
        signal.alarm(HANG_S)
        self._looked_s = time.monotonic()
        if not output.is_there():
            self._output = None
            hint = "play again when it is back, or choose another"
            raise SoundError(f"the {output.kind.noun} '{output.name}' is gone", hint=hint)

    def let_go(self) -> None:
        """Silence the output and close it."""
        if self._output is not None:
            output, self._output = self._output, None
            output.stop()
            output.close()


@contextlib.contextmanager
def _at_leisure(seconds: int) -> Iterator[None]:
    """What a library does within may take so long, or the process ends; nobody else waits for it."""
    signal.alarm(seconds)
    give_way()
    try:
        yield
    finally:
        take_precedence()
        signal.alarm(0)


def main(descriptor: int) -> NoReturn:
    """Run an engine on an inherited end of a link, until that ends or a signal comes."""
    endings = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
    for number in endings:
        signal.signal(number, _end)
    gc.disable()
    sys.setswitchinterval(SWITCH_S)
    engine = Engine(Link(socket.socket(fileno=descriptor)))
    try:
        engine.run()
    except (EOFError, OSError, SoundError):
        pass  # the editor has gone, or the output, of which it was told
    finally:
        for number in endings:
            signal.signal(number, signal.SIG_IGN)
        signal.alarm(HANG_S)
        with contextlib.suppress(Exception):
            engine.let_go()
        os._exit(0)  # nothing waits for a sound system that has gone


def _end(_number: int, _frame: FrameType | None) -> NoReturn:
    raise SystemExit


if __name__ == "__main__":
    main(int(sys.argv[1]))
