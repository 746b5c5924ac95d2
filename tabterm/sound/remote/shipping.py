"""What waits at the editor's end of a line: plans that go ahead, and those whose recording goes before them."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.sound import packing
from tabterm.sound.remote.records import named, part_of, pieces

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
    """What of recordings goes to the listener: parts for plans that wait, and parts that are sent ahead of any.

    A plan waits until its part is there, in the order of the plans. What is sent ahead gives way to that.

    Attributes:
        plans: Those that wait: each with the name of its part and the file.
    """

    def __init__(self) -> None:
        self.plans: list[tuple[Frame, str, str]] = []
        self._ahead: dict[str, str] = {}
        self._there: dict[str, None] = {}
        self._cut: dict[str, list[bytes]] = {}
        self._taken: dict[str, int] = {}

    def clear(self) -> None:
        """The line has dropped: another listener may have nothing. What was to be sent ahead still is."""
        self.plans.clear()
        self._there.clear()
        self._cut.clear()
        self._taken.clear()

    def send_ahead(self, path: str, mark: str, from_s: float, to_s: float) -> None:
        """Send a stretch of a recording before anything of it is played; in place of what else was to be."""
        name = part_of(mark, from_s, to_s)
        self._ahead = {} if name in self._there else {name: path}

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
                name, record = named(plan.record, self._there)
                frame = frame._replace(body=packing.packed(replace(plan, record=record))[0])
        if frame.word == "play":
            self.plans.clear()
        if not self.plans and (not name or name in self._there):
            return frame
        self.plans.append((frame, name, path))
        return None

    @property
    def wanted(self) -> str:
        """The name of the part that the first plan waits for, else of what is sent ahead; "" where nothing is."""
        return self.plans[0][1] if self.plans else next(iter(self._ahead), "")

    @property
    def part_ahead(self) -> float:
        """How much of what is sent ahead has been taken, 0 to 1; 1 where nothing is."""
        name = next(iter(self._ahead), "")
        return self._taken.get(name, 0) / len(self._cut[name]) if name in self._cut else float(not name)

    def have(self, name: str, *, there: bool) -> list[Frame]:
        """The listener says whether it has a part; the plans that can go now."""
        if there:
            self._there[name] = None
            self._ahead.pop(name, None)
            self._cut.pop(name, None)
        ready = []
        while self.plans and (not self.plans[0][1] or self.plans[0][1] in self._there):
            ready.append(self.plans.pop(0)[0])
        return ready

    def is_cut(self, name: str) -> bool:
        """Whether a part has been compressed."""
        return name in self._cut

    def cut(self, name: str) -> None:
        """Compress a part that is wanted, which takes about a second for a minute; raises SoundError."""
        path = next((path for _, part, path in self.plans if part == name), "") or self._ahead.get(name, "")
        self._cut[name] = pieces(path, name)
        self._taken[name] = 0

    def give_up(self, name: str) -> bool:
        """A part cannot be sent: nothing waits for it any more; whether a plan did."""
        left = [each for each in self.plans if each[1] != name]
        waited, self.plans = len(left) < len(self.plans), left
        self._ahead.pop(name, None)
        return waited

    def take(self, name: str, number: int) -> None:
        """The listener has a piece of a part."""
        if name in self._cut:
            self._taken[name] = number + 1

    def piece(self, name: str) -> tuple[bytes, int, int] | None:
        """The next piece of a part, its number, and how many there are; None where none is left."""
        cut, number = self._cut.get(name, []), self._taken.get(name, 0)
        return (cut[number], number, len(cut)) if number < len(cut) else None
