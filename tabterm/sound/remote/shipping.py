"""What waits at the editor's end of a line: plans that go ahead, and those whose recording goes before them."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.sound import packing
from tabterm.sound.remote.records import named, pieces

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


class Shipping:
    """Plans that wait until the recording that is heard with them is at the listener, in their order."""

    def __init__(self) -> None:
        self.plans: list[tuple[Frame, str, str]] = []
        self._there: set[str] = set()
        self._pieces: tuple[str, list[bytes]] = ("", [])

    def clear(self) -> None:
        """The line has dropped: another listener may have nothing."""
        self.plans.clear()
        self._there.clear()
        self._pieces = "", []

    def held(self, frame: Frame) -> Frame | None:
        """A plan as it goes over the line, where it can; None where it waits.

        Raises:
            SoundError: The plan is none.
        """
        name, path = "", ""
        if packing.has_record(frame.body):
            plan = packing.unpacked(frame.body, **frame.values)
            if plan.record is not None:
                path = plan.record.path
                name, record = named(plan.record)
                frame = frame._replace(body=packing.packed(replace(plan, record=record))[0])
        if frame.word == "play":
            self.plans.clear()
        if not self.plans and (not name or name in self._there):
            return frame
        self.plans.append((frame, name, path))
        return None

    @property
    def wanted(self) -> str:
        """The name of the recording that the first plan waits for; "" where none waits."""
        return self.plans[0][1] if self.plans else ""

    def have(self, name: str, *, there: bool) -> list[Frame]:
        """The listener says whether it has a recording; the plans that can go now."""
        if there:
            self._there.add(name)
        ready = []
        while self.plans and (not self.plans[0][1] or self.plans[0][1] in self._there):
            ready.append(self.plans.pop(0)[0])
        return ready

    def first(self) -> tuple[bytes, int]:
        """The first piece of what is wanted, and how many there are; raises SoundError."""
        _, name, path = self.plans[0]
        self._pieces = name, pieces(path, name)
        return self._pieces[1][0], len(self._pieces[1])

    def after(self, name: str, number: int) -> tuple[bytes, int] | None:
        """The piece behind one that has been taken, and how many there are; None where none is left."""
        there, cut = self._pieces
        return (cut[number + 1], len(cut)) if there == name and number + 1 < len(cut) else None
