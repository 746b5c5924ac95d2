"""Where the sound is: the engine says when it begins what, and the rest is arithmetic."""

from __future__ import annotations

import time
from bisect import bisect_right
from collections import deque
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from tabterm.performance import Performance
    from tabterm.score.place import Place

REMEMBERED = 16  #: reports; implementation limit


class Position(NamedTuple):
    """What is heard at a moment.

    Attributes:
        performance: Which performance.
        turn: Which of its turns, from 1; a performance that takes over goes on counting.
        at_s: Where in the performance, in s from its start.
        place: Where in the score: the last beat or onset; None in a count-in.
    """

    performance: Performance
    turn: int
    at_s: float
    place: Place | None


class _Anchor(NamedTuple):
    performance: Performance
    turn: int
    at_s: float
    start_s: float


class Whereabouts:
    """What has sounded lately and is about to.

    What is told of the future may be told again, more exactly: the last word on a turn counts.
    """

    def __init__(self) -> None:
        self._anchors: deque[_Anchor] = deque(maxlen=REMEMBERED)

    def clear(self) -> None:
        """Forget everything."""
        self._anchors.clear()

    def add(self, performance: Performance, turn: int, at_s: float, start_s: float) -> None:
        """From `start_s` of the monotonic clock on, a turn of a performance sounds from its moment `at_s`."""
        anchor = _Anchor(performance, turn, at_s, start_s)
        last = self._anchors[-1] if self._anchors else None
        if last and last.performance is performance and (last.turn, last.at_s) == (turn, at_s):
            self._anchors.pop()
        self._anchors.append(anchor)

    def position(self) -> Position | None:
        """What is heard now; None before anything is."""
        now_s = time.monotonic()
        for performance, turn, at_s, start_s in reversed(self._anchors):
            if start_s <= now_s:
                there_s = min(at_s + now_s - start_s, performance.duration_s)
                number = bisect_right(performance.marks, there_s, key=lambda mark: mark.time_s) - 1
                place = performance.marks[number].place if number >= 0 else None
                return Position(performance, turn, there_s, place)
        return None
