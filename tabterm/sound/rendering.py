"""A performance as samples, faster than it sounds and in bounded memory."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.sound.synthesiser import RATE, Synthesiser

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from tabterm.performance.model import Part, Performance, Pluck
    from tabterm.sound.voicing import Voicing

BLOCK = 8192  #: frames; implementation limit
"""Frames rendered at a time."""

TAIL_S = 0.3  #: s; implementation limit
"""After the end every damped string is silent in this time; all parts of a performance have the same length."""


def blocks(
    performance: Performance,
    voicing: Voicing,
    *,
    rate: int = RATE,
    parts: Collection[Part] | None = None,
    turns: int = 1,
) -> Iterator[NDArray[np.float32]]:
    """The samples of a performance, block by block as (frames, 2), until its end and TAIL_S more.

    Args:
        performance: What is played.
        voicing: What it sounds like.
        rate: Frames a second.
        parts: Who is heard; None is everybody.
        turns: How often it is played; every turn after the first begins behind the count-in.
    """
    synthesiser = Synthesiser(voicing, rate)
    for origin, pluck in _in_turn(performance, parts, turns, rate):
        while origin + pluck.start_s * rate >= synthesiser.frame + BLOCK:
            yield synthesiser.read(BLOCK)
        synthesiser.play(pluck, origin)
    last = frames_of(performance, rate=rate, turns=turns)
    while synthesiser.frame < last:
        yield synthesiser.read(min(BLOCK, last - synthesiser.frame))


def frames_of(performance: Performance, *, rate: int = RATE, turns: int = 1) -> int:
    """How many frames `blocks` gives."""
    turn_s = performance.duration_s - performance.lead_s
    return round((performance.lead_s + turns * turn_s + TAIL_S) * rate)


def _in_turn(
    performance: Performance, parts: Collection[Part] | None, turns: int, rate: int
) -> Iterator[tuple[int, Pluck]]:
    """The plucks of all turns in order of time, each with the frame from which its times count."""
    for turn in range(turns):
        origin = round(turn * (performance.duration_s - performance.lead_s) * rate)
        for pluck in performance.plucks:
            if (parts is None or pluck.part in parts) and (not turn or pluck.start_s >= performance.lead_s):
                yield origin, pluck
