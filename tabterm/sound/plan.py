"""What the engine is told to play: a performance as plain numbers and bytes that travel in one piece."""

from __future__ import annotations

from array import array
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Self

if TYPE_CHECKING:
    from tabterm.performance import Performance

MESSAGE_BYTES = 3


@dataclass(frozen=True, slots=True)
class Order:
    """How a plan is to be played.

    Attributes:
        number: Tells the engine's reports on this plan from those on another.
        lead_s: Where a loop goes back to.
        duration_s: Where it ends.
        turns: How often it is played; 0 is until told otherwise.
        port: Part of a port's name, or None for the first port.
        virtual: Make a port of that name instead of looking for one.
        measures_lateness: Report how late each message was sent.
    """

    number: int
    lead_s: float
    duration_s: float
    turns: int = 1
    port: str | None = None
    virtual: bool = False
    measures_lateness: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """An order and the messages: `setup` is sent once before, `data[3 n : 3 n + 3]` is due at `times[n]` s."""

    order: Order
    setup: tuple[bytes, ...]
    times: array[float]
    data: bytes

    @classmethod
    def of(cls, performance: Performance, **order: Any) -> Self:
        """The plan for a performance; `order` are the fields of `Order` that the performance does not know."""
        return cls(
            Order(lead_s=performance.lead_s, duration_s=performance.duration_s, **order),
            performance.setup,
            array("d", [message.time_s for message in performance.messages]),
            b"".join([message.data for message in performance.messages]),
        )

    def packed(self) -> tuple[bytes, dict[str, Any]]:
        """The messages as bytes and the rest as values that JSON can hold."""
        values = {"order": asdict(self.order), "setup": [list(message) for message in self.setup]}
        return self.times.tobytes() + self.data, values

    @classmethod
    def unpacked(cls, body: bytes, order: dict[str, Any], setup: list[list[int]]) -> Self:
        """The plan that was packed."""
        times = array("d")
        count = len(body) // (times.itemsize + MESSAGE_BYTES)
        times.frombytes(body[: count * times.itemsize])
        data = body[count * times.itemsize :]
        return cls(Order(**order), tuple(bytes(message) for message in setup), times, data)
