"""A MIDI port as an output: messages on time, and nothing left sounding, whatever comes in between."""

from __future__ import annotations

import time
from array import array
from bisect import bisect_left
from typing import TYPE_CHECKING

from tabterm.sound.plan import State
from tabterm.sound.sequencer import Sequencer

if TYPE_CHECKING:
    from tabterm.sound.outputs import OutputKind, Tell
    from tabterm.sound.plan import Plan
    from tabterm.sound.ports import Port
    from tabterm.sound.sequencer import PlanStretch

START_S = 0.005  #: s; implementation limit
"""From the order to the first message: enough for the setup messages."""

SETTLE_S = 0.02  #: s; implementation limit
"""After a port has been opened: the connection takes effect with the MIDI system's next period."""

DRAIN_S = 0.06  #: s; implementation limit
"""The MIDI system takes the last messages in this time: more than the longest usual JACK period (46 ms)."""

AGAIN_S = 0.15  #: s; implementation limit
"""Silence is said twice, so long apart: a MIDI system on a machine that stood still loses what came meanwhile."""

SAME_S = 1e-6  #: s; implementation limit
"""Moments nearer to each other than this are one."""

CENTRE = b"\x00\x40"
"""The data bytes of no bend (MIDI 1.0)."""

CHANNELS = range(16)  #: channels; MIDI 1.0
TIMES = 3  #: times; implementation limit
"""A MIDI system that has just lost a client may stand still for a moment: silence is then said so often."""


def silence(port: Port) -> None:
    """Silence every channel of a port just opened, and let it go."""
    time.sleep(SETTLE_S)
    for _ in range(TIMES):
        for channel in CHANNELS:
            _silence_channel(port, channel, at_once=True)
        time.sleep(AGAIN_S)
    port.close()


def _silence_channel(port: Port, channel: int, *, at_once: bool) -> None:
    """Every note off, or cut off, and bends let down.

    Controllers of the MIDI 1.0 specification: 123 all notes off, 120 all sound off.
    """
    for controller in (123, 120) if at_once else (123,):
        port.send(bytes((0xB0 | channel, controller, 0)))
    port.send(bytes((0xE0 | channel,)) + CENTRE)


class PortOutput:
    """Plays plans to a port, message by message.

    Attributes:
        kind: A port to be found, or one made for others to find.
        name: The port's.
        exact: Always.
    """

    exact = True

    def __init__(self, port: Port, kind: OutputKind, report: Tell) -> None:
        self.kind = kind
        self.name = port.name
        self._port = port
        self._report = report
        self._sequencer: Sequencer | None = None
        self._start_s = 0.0
        self._next = 0
        self._held = State(frozenset(), {})
        self._setup: tuple[bytes, ...] = ()
        self._channels: set[int] = set()
        self._on: set[tuple[int, int]] = set()
        self._bends: dict[int, bytes] = {}
        self._late = array("d")
        self._again: tuple[float, bool] | None = None
        time.sleep(SETTLE_S)

    def play(self, plan: Plan) -> None:
        """Play at once, in place of what sounds."""
        self.stop()
        self._late, self._again = array("d"), None
        self._prepare(plan)
        self._sequencer = Sequencer(plan)
        self._start_s = time.monotonic() + START_S
        self._enter(self._sequencer.now)

    def change(self, plan: Plan) -> None:
        """Let a plan take over at the next beat; what of it is to sound there is looked for at once."""
        sequencer = self._sequencer
        to_s = sequencer.change(plan, time.monotonic() - self._start_s) if sequencer else None
        if to_s is None:
            self._report("missed", number=plan.order.number)
        else:
            self._held = plan.state_at(to_s - SAME_S)

    def then(self, plan: Plan) -> None:
        """Let a plan follow what sounds; at once where nothing does."""
        if self._sequencer is None:
            self.play(plan)
        else:
            self._sequencer.then(plan)

    def work(self) -> float | None:
        """Send what is due."""
        while self._sequencer is not None and (stretch := self._sequencer.now) is not None:
            due_s = self._start_s + stretch.origin_s + self._send_due(stretch)
            if due_s > time.monotonic():
                return due_s
            self._go_on(self._sequencer, stretch)
        if self._again and self._again[0] <= time.monotonic():
            self._silence_channels(at_once=self._again[1])
            self._again = None
        return self._again[0] if self._again else None

    def _send_due(self, stretch: PlanStretch) -> float:
        """Send what is due of a stretch; the moment of the plan at which the next is, or its end."""
        plan, shift_s = stretch.plan, self._start_s + stretch.origin_s
        # What is due at the very end of a plan belongs to it; what is due at a joint, to what takes over there.
        end_s = stretch.to_s + (SAME_S if stretch.whole else -SAME_S)
        while self._next < len(plan.times) and plan.times[self._next] < end_s:
            due_s = plan.times[self._next]
            if shift_s + due_s > time.monotonic():
                return due_s
            self._send(plan.message(self._next))
            self._next += 1
            if plan.order.measures_lateness:
                self._late.append(time.monotonic() - shift_s - due_s)
        return stretch.to_s

    def _go_on(self, sequencer: Sequencer, before: PlanStretch) -> None:
        """Enter the next stretch; at a joint, what does not sound on behind it is stopped and bends are set."""
        stretch = sequencer.advance()
        if stretch is None:
            self._sequencer = None
            self._quieten(at_once=False)
            self._report("ended", self._late.tobytes(), number=sequencer.last.order.number)
            return
        if not before.whole:
            self._take_over(self._held)
        self._prepare(stretch.plan)
        self._enter(stretch)

    def _take_over(self, state: State) -> None:
        """Leave sounding and bent what is so in the plan that takes over."""
        for channel, note in sorted(self._on - state.on):
            self._send(bytes((0x80 | channel, note, 0)))
        for channel, bend in list(self._bends.items()):
            wanted = state.bends.get(channel, bytes((0xE0 | channel,)) + CENTRE)
            if wanted != bend:
                self._send(wanted)

    def _prepare(self, plan: Plan) -> None:
        """Send what has to be said once before."""
        if plan.setup != self._setup or self._sequencer is None:
            self._setup = plan.setup
            for message in plan.setup:
                self._send(message)

    def _enter(self, stretch: PlanStretch | None) -> None:
        if stretch is not None:
            self._next = bisect_left(stretch.plan.times, stretch.from_s - SAME_S)
            start_s = self._start_s + stretch.begin_s
            number, turn = stretch.plan.order.number, stretch.turn
            self._report("turn", number=number, turn=turn, at_s=stretch.from_s, start_s=start_s)

    def _send(self, message: bytes) -> None:
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        self._channels.add(channel)
        if kind == 0x90:
            self._on.add((channel, message[1]))
        elif kind == 0x80:
            self._on.discard((channel, message[1]))
        elif kind == 0xE0:
            self._bends[channel] = message
        self._port.send(message)

    def stop(self) -> None:
        """Silence at once; cuts what is dying away as well."""
        if self._sequencer is not None:
            self._sequencer = None
            self._quieten(at_once=True)

    def _quieten(self, *, at_once: bool) -> None:
        """Every note off and bends let down, now and once more."""
        for channel, note in sorted(self._on):
            self._port.send(bytes((0x80 | channel, note, 0)))
        self._on.clear()
        self._bends.clear()
        self._silence_channels(at_once=at_once)
        self._again = time.monotonic() + AGAIN_S, at_once

    def _silence_channels(self, *, at_once: bool) -> None:
        """Say it to the channels used, and no others: a MIDI system takes only so much at once."""
        for channel in sorted(self._channels):
            _silence_channel(self._port, channel, at_once=at_once)

    def is_there(self) -> bool:
        """Whether the port is still listed."""
        return self._port.is_there()

    def close(self) -> None:
        """Let the port go."""
        time.sleep(DRAIN_S)
        self._port.close()
