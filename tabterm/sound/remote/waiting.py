"""Plans on their way to a listener: those that wait, and those that have been sent and not been taken."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.sound.link import Frame

IN_FLIGHT_BYTES = 24_000  #: bytes; implementation limit
"""More is not sent ahead before the listener has taken what was: what is on a thin line cannot be taken back,
and a newer order would have to wait behind it."""


class Waiting:
    """The queue before a line.

    Attributes:
        frames: Those that wait, with the number of each.
    """

    def __init__(self) -> None:
        self.frames: list[tuple[int, Frame]] = []
        self._in_flight: dict[int, tuple[float, int]] = {}

    def add(self, number: int, frame: Frame) -> None:
        """Let one wait; it takes the place of all that wait, if played at once, or of changes, if it is one."""
        replaced = {"play": {"play", "change", "then"}, "change": {"change"}}.get(frame.word, ())
        self.frames = [each for each in self.frames if each[1].word not in replaced]
        self.frames.append((number, frame))

    def due(self) -> list[Frame]:
        """What may be sent now."""
        frames = []
        while self.frames:
            number, frame = self.frames[0]
            in_flight = sum(size for _, size in self._in_flight.values())
            if in_flight and in_flight + len(frame.body) > IN_FLIGHT_BYTES:
                break
            del self.frames[0]
            self._in_flight[number] = time.monotonic(), len(frame.body)
            frames.append(frame)
        return frames

    def taken(self, number: int) -> float | None:
        """The listener has one; s since it was sent."""
        sent = self._in_flight.pop(number, None)
        return None if sent is None else time.monotonic() - sent[0]

    def clear(self) -> None:
        """The line has dropped: nothing is on its way."""
        self.frames.clear()
        self._in_flight.clear()
