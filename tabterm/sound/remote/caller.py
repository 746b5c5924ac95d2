"""The caller: stands for an engine that is on another machine, and passes everything on to a listener there.

It is a process of its own beside the editor, as the engine is: it keeps the line up while the editor is busy, and
ends with it. When the line has dropped it calls again, after a rest, and at once when something is to be played.
"""

from __future__ import annotations

import math
import os
import signal
import socket
import sys
import time
from collections import deque
from contextlib import suppress
from select import select
from threading import Thread
from typing import Any, NoReturn

from tabterm.errors import SoundError
from tabterm.sound.link import BadFrameError, Frame, Link
from tabterm.sound.outputs import OutputKind, found
from tabterm.sound.remote.call import call
from tabterm.sound.remote.handshake import plain
from tabterm.sound.remote.inspection import (
    FROM_LISTENER,
    LIMITS,
    MOST_PLAN_BYTES,
    PLANS,
    folded,
    inspect,
    unfolded,
)
from tabterm.sound.remote.listener import ALIVE_EVERY_S, SILENT_FOR_S
from tabterm.sound.remote.shipping import Shipping, Waiting

RESTS_S = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0)  #: s; implementation limit
"""How long it is before another call is made while nothing is to be played."""

CLOCKS = 30  #: reports; implementation limit
"""The quickest of so many reports says how the clocks stand: two minutes of them, so that no drift adds up."""

GLANCE_S = 0.02  #: s; implementation limit
"""How often is looked whether a part of a recording has been compressed."""

LIST_WITHIN_S = 15  #: s; implementation limit
"""A sound system of this machine that does not say for so long what there is takes the process with it."""

DROPPED = "the connection to the listener dropped; it is silent now"
AGAIN = "play again to reconnect"


class Caller:
    """Between an editor, which takes it for an engine, and a listener."""

    def __init__(self, editor: Link, wanted: str) -> None:
        """Begin.

        Args:
            editor: To the editor.
            wanted: Where the listener is: an address, or `auto`.
        """
        self._editor, self._wanted = editor, wanted
        self._line: Link | None = None
        self._round_trip_s = 0.0
        self._clocks: deque[float] = deque(maxlen=CLOCKS)
        self._waiting = Waiting()
        self._shipping = Shipping()
        self._number = 0
        self._sounds = False
        self._cutting: dict[str, Thread] = {}
        self._broken: dict[str, SoundError] = {}
        self._asked = ""
        self._calls, self._call_s = 0, time.monotonic()
        self._heard_s = self._spoke_s = 0.0

    def run(self) -> NoReturn:
        """Obey until the editor's end of the link is closed; raises EOFError then."""
        while True:
            now_s = time.monotonic()
            if self._line is None and now_s >= self._call_s:
                with suppress(SoundError):
                    self._call()
            ends = [self._editor, *([self._line] if self._line else [])]
            patience_s = self._due_s() - time.monotonic()
            ready = select(ends, [], [], None if patience_s == math.inf else max(0.0, patience_s))[0]
            if self._editor in ready:
                for frame in self._editor.receive():
                    self._obey(frame)
            if self._line is not None:
                self._attend(self._line, speaks=self._line in ready)

    def _due_s(self) -> float:
        """When the next thing is to be done that nobody asks for."""
        if self._line is None:
            return self._call_s
        if self._cutting:
            return time.monotonic() + GLANCE_S
        return min(self._spoke_s + ALIVE_EVERY_S, self._heard_s + SILENT_FOR_S)

    def _call(self) -> None:
        """Call the listener; raises SoundError when there is none, and says when to try again."""
        rest_s = RESTS_S[min(self._calls, len(RESTS_S) - 1)]
        self._calls += 1
        try:
            line = call(self._wanted)
        finally:
            self._call_s = time.monotonic() + rest_s
        self._line, self._round_trip_s, self._calls = line.link, line.round_trip_s, 0
        self._heard_s = self._spoke_s = time.monotonic()
        self._clocks.clear()
        with suppress(BadFrameError):  # what comes next will not be understood either
            self._take(line.said)
        self._ask()

    def _drop(self, message: str, *, call_in_s: float = RESTS_S[0]) -> None:
        """Let the line go, and say so if anything sounded."""
        if self._line is not None:
            self._line.close()
            self._line = None
        self._waiting.clear()
        self._shipping.clear()
        self._asked = ""
        self._call_s = time.monotonic() + call_in_s
        if self._sounds:
            self._fail(SoundError(message, hint=AGAIN))

    def _fail(self, error: SoundError) -> None:
        self._sounds = False
        where = f"{error.place}: " if error.place else ""
        self._editor.send(
            "failed", number=self._number, message=where + error.message, hint=error.hint, ends=False
        )

    def _obey(self, frame: Frame) -> None:
        """Pass an order of the editor on."""
        if frame.word in PLANS:
            self._number = frame.values["number"]
            try:
                self._send_when_there(frame)
            except SoundError as error:
                self._fail(error)
        elif frame.word == "outputs":
            signal.alarm(LIST_WITHIN_S)
            here = [(OutputKind.LISTENER, self._wanted), *found()]
            signal.alarm(0)
            self._editor.send("outputs", found=[[kind.value, name] for kind, name in here])
        elif frame.word == "stop":
            self._sounds = False
            self._waiting.frames.clear()
            self._shipping.plans.clear()
            self._say("stop")
        elif frame.word == "ship":
            self._shipping.send_ahead(**frame.values)
            with suppress(SoundError):  # it is called again, and then it goes
                if self._line is None:
                    self._call()
            self._ask()
            self._tell_part()

    def _send_when_there(self, frame: Frame) -> None:
        """Let a plan go, once the recording that is heard with it is at the listener; raises SoundError."""
        if self._line is None:
            self._call()
        ready = self._shipping.held(frame)
        if ready is not None:
            self._send_ahead(ready)
            return
        self._sounds = True
        self._ask()

    def _ask(self) -> None:
        """Ask whether the listener has what is wanted next, or go on sending it where it is known to lack it."""
        wanted = self._shipping.wanted
        if not wanted or wanted == self._asked or self._line is None:
            return
        self._asked = wanted
        if self._shipping.is_cut(wanted):
            self._say_piece(wanted)
        else:
            self._say("have", mark=wanted)

    def _ship(self, name: str, *, there: bool) -> None:
        """The listener has a part of a recording, or has not: let go what waited for it, or send it."""
        shipping = self._shipping
        try:
            for frame in shipping.have(name, there=there):
                self._number = frame.values["number"]
                self._send_ahead(frame)
        except SoundError as error:
            shipping.plans.clear()
            self._fail(error)
        if there:
            self._tell_part()
            self._asked = ""
            self._ask()
        elif shipping.wanted == name and name not in self._cutting:
            self._cutting[name] = Thread(target=self._cut, args=(name,), daemon=True)
            self._cutting[name].start()

    def _cut(self, name: str) -> None:
        """Compress a part beside the line, which is attended to meanwhile."""
        try:
            self._shipping.cut(name)
        except SoundError as error:
            self._broken[name] = error

    def _see_cut(self) -> None:
        """Go on with the parts that have been compressed."""
        for name in [name for name, thread in self._cutting.items() if not thread.is_alive()]:
            del self._cutting[name]
            error = self._broken.pop(name, None)
            if error is not None and self._shipping.give_up(name):
                self._fail(error)
            self._asked = ""
            self._ask()

    def _say_piece(self, name: str) -> None:
        """Send the next piece of a part."""
        piece = self._shipping.piece(name)
        if piece is not None:
            self._say("piece", piece[0], mark=name, number=piece[1], of=piece[2])

    def _tell_part(self) -> None:
        """Tell the editor how much of what is sent ahead is at the listener."""
        self._editor.send("shipped", part=self._shipping.part_ahead)

    def _send_ahead(self, frame: Frame) -> None:
        """Let a plan go as soon as the line takes it; raises SoundError where there is none, or it is too long."""
        body = folded(frame.body)
        if len(body) > LIMITS.body_bytes or len(frame.body) > MOST_PLAN_BYTES:
            raise SoundError("too long to send to the listener", hint="play fewer measures at once")
        if self._line is None:
            self._call()
        self._sounds = True
        self._waiting.add(self._number, Frame(frame.word, frame.values, body))
        self._flush()

    def _flush(self) -> None:
        for frame in self._waiting.due():
            self._say(frame.word, frame.body, **frame.values)

    def _say(self, word: str, body: bytes = b"", **values: Any) -> None:
        if self._line is None:
            return
        self._spoke_s = time.monotonic()
        try:
            self._line.send(word, body, **values)
        except OSError:
            self._drop(DROPPED)

    def _attend(self, line: Link, *, speaks: bool) -> None:
        """Take in what the listener says, and see whether it is still there."""
        now_s = time.monotonic()
        if speaks:
            self._heard_s = now_s
            try:
                self._take(line.receive())
            except (EOFError, ConnectionError):
                self._drop(DROPPED)
            except BadFrameError as error:
                self._drop(f"the listener sent something unreadable: {error}", call_in_s=RESTS_S[-1])
        elif now_s - self._heard_s >= SILENT_FOR_S:
            self._drop(f"the listener has been silent for {SILENT_FOR_S:g} s")
        elif now_s - self._spoke_s >= ALIVE_EVERY_S:
            self._say("alive")
        self._see_cut()
        self._flush()

    def _take(self, frames: list[Frame]) -> None:
        """Take in frames; raises BadFrameError at one that does not fit."""
        for frame in frames:
            self._report(inspect(frame, FROM_LISTENER), time.monotonic())

    def _report(self, frame: Frame, now_s: float) -> None:
        """Pass a report of the listener on, in terms of this machine's clock; raises BadFrameError."""
        word, values, body = frame
        if "now_s" in values:
            self._clocks.append(now_s - values.pop("now_s"))
        if word == "taken":
            self._round_trip_s = min(self._round_trip_s, self._waiting.taken(values["number"]) or math.inf)
        elif word == "have":
            self._ship(values["mark"], there=values["there"])
        elif word == "piece-got":
            self._shipping.take(values["mark"], values["number"])
            self._tell_part()
            if self._shipping.wanted == values["mark"]:
                self._say_piece(values["mark"])
        elif word == "away":
            self._drop("another editor plays through the listener now", call_in_s=math.inf)
        elif word != "alive":
            self._sounds = (self._sounds or word == "turn") and word not in {"ended", "failed"}
            values = {name: plain(value) if isinstance(value, str) else value for name, value in values.items()}
            if word == "output":
                values = {"kind": OutputKind.LISTENER.value, "name": f"the listener's {values['name']}"}
            elif word == "failed":
                values["ends"] = False
            elif word == "turn":
                values["start_s"] = self._heard_at_s(values["start_s"])
            self._editor.send(word, _lateness(body) if body else b"", **values)

    def _heard_at_s(self, start_s: float) -> float:
        """When what the listener plays at a moment of its clock is to be drawn, on the clock of this machine.

        Whoever listens looks at a screen at the same desk: what is drawn then is seen when it is heard, after the
        time of one way. The quickest report of late says how the clocks stand, but for the time of another way.
        """
        return start_s + min(self._clocks) - self._round_trip_s


def _lateness(body: bytes) -> bytes:
    """What came with the end of a plan: eight bytes for each message; raises BadFrameError when it is not."""
    late = unfolded(body)
    if len(late) % 8:
        raise BadFrameError("lateness that is cut off")
    return late


def main(descriptor: int, wanted: str) -> NoReturn:
    """Call a listener for the editor at the other end of an inherited link, until that ends."""
    try:
        Caller(Link(socket.socket(fileno=descriptor)), wanted).run()
    except (EOFError, OSError):
        os._exit(0)  # the editor has gone


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2])
