"""What the engine is told to play: a performance as plain numbers."""

from __future__ import annotations

from array import array
from bisect import bisect_left
from typing import TYPE_CHECKING, Self

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.performance import Performance
    from tabterm.performance.model import Part, Pluck, Record
    from tabterm.sound.voicing import SoundVoicing

MESSAGE_BYTES = 3  #: bytes; MIDI 1.0, the longest message that is sent

Joint = tuple[float, float]
"""A moment of the performance that sounds, and the moment of this one at which the music is at the same place."""


@dataclass(frozen=True, slots=True)
class Order:
    """How a plan is to be played.

    Attributes:
        number: Tells the engine's reports on this plan from those on another; from 1.
        lead_s: Where a loop goes back to.
        duration_s: Where it ends.
        turns: How often it is played; 0 is until told otherwise.
        follows: The plan that it takes over from at one of the joints, or 0.
        measures_lateness: Report how late each message was sent.
    """

    number: int
    lead_s: float
    duration_s: float
    turns: int = 1
    follows: int = 0
    measures_lateness: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """What sounds at a moment: (channel, note) of every note struck and not stopped, the bend of each channel."""

    on: frozenset[tuple[int, int]]
    bends: dict[int, bytes]


@dataclass(frozen=True, slots=True)
class Plan:
    """One performance and how it is to be played.

    Attributes:
        order: How.
        setup: MIDI messages that are sent once before.
        times: When each message is due, in s from the start, in order.
        data: The messages: number n is `data[3 n : 3 n + 3]`.
        plucks: The same as attacks, in order of time.
        joints: Where it can take over, in order of time.
        voicing: What each part sounds like.
        record: The recording that is heard along.
    """

    order: Order
    setup: tuple[bytes, ...]
    times: array[float]
    data: bytes
    plucks: tuple[Pluck, ...]
    joints: tuple[Joint, ...]
    voicing: SoundVoicing
    record: Record | None = None

    @classmethod
    def of(
        cls,
        performance: Performance,
        voicing: SoundVoicing,
        *,
        number: int,
        turns: int = 1,
        joints: Sequence[Joint] = (),
        follows: int = 0,
        measures_lateness: bool = False,
    ) -> Self:
        """The plan for a performance."""
        lead_s, duration_s = performance.lead_s, performance.duration_s
        return cls(
            Order(number, lead_s, duration_s, turns, follows, measures_lateness),
            performance.setup,
            array("d", [message.time_s for message in performance.messages]),
            b"".join([message.data for message in performance.messages]),
            performance.plucks,
            tuple(joints),
            voicing,
            performance.record,
        )

    @property
    def turn_s(self) -> float:
        """Length of a turn after the first."""
        return self.order.duration_s - self.order.lead_s

    def message(self, number: int) -> bytes:
        """One message."""
        return self.data[number * MESSAGE_BYTES : (number + 1) * MESSAGE_BYTES]

    def state_at(self, time_s: float) -> State:
        """What sounds just before a moment."""
        on: set[tuple[int, int]] = set()
        bends: dict[int, bytes] = {}
        for number in range(bisect_left(self.times, time_s)):
            message = self.message(number)
            kind, channel = message[0] & 0xF0, message[0] & 0x0F
            if kind == 0x90:
                on.add((channel, message[1]))
            elif kind == 0x80:
                on.discard((channel, message[1]))
            elif kind == 0xE0:
                bends[channel] = message
        return State(frozenset(on), bends)

    def last_before(self, time_s: float) -> dict[tuple[Part, int], Pluck]:
        """The last attack before a moment on every course of every part."""
        return {(pluck.part, pluck.course): pluck for pluck in self.plucks if pluck.start_s < time_s}
