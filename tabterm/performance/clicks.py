"""The click: the beat struck on a wood block."""

from __future__ import annotations

from tabterm.performance.model import Part, Pluck

HIGH, LOW = 76, 77
"""High and low wood block of the General MIDI 1 percussion map."""

CLICK_S = 0.03


def click(time_s: float, *, first: bool) -> Pluck:
    """A stroke of the wood block; the first beat of a measure is higher and stronger."""
    pitch, velocity = (HIGH, 110) if first else (LOW, 80)
    return Pluck(Part.CLICK, 0, pitch, time_s, time_s + CLICK_S, velocity)
