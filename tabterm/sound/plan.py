"""What the engine is told to play: plain values that travel between processes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Plan:
    """Messages with their times, and where they go.

    Attributes:
        number: Tells the engine's reports on this plan from those on another.
        setup: Messages sent once before the start.
        messages: (time in s, message), in order of time.
        looped: The part of `messages` from `lead_s` on, for the later turns.
        lead_s: Where a loop goes back to.
        duration_s: Where it ends.
        turns: How often it is played; 0 is until told otherwise.
        port: Part of a port's name, or None for the first port.
        virtual: Make a port of that name instead of looking for one.
        measures_lateness: Report how late each message was sent, in s.
    """

    number: int
    setup: tuple[bytes, ...]
    messages: tuple[tuple[float, bytes], ...]
    looped: tuple[tuple[float, bytes], ...]
    lead_s: float
    duration_s: float
    turns: int = 1
    port: str | None = None
    virtual: bool = False
    measures_lateness: bool = False
