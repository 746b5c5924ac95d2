"""Where the sound is, by what the engine says of its beginning; and where another performance can take over."""

from __future__ import annotations

import time
from bisect import bisect_right
from collections import Counter, defaultdict, deque
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from tabterm.performance.model import Part

if TYPE_CHECKING:
    from tabterm.performance import Performance
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.place import Place
    from tabterm.sound.plan import Joint


def joints(sounding: Performance, coming: Performance) -> tuple[Joint, ...]:
    """For every beat of what sounds, and for its end, the moment at which what is coming goes on from there.

    A beat that is not in what is coming leads to the start of it, behind its count-in. The end leads on to what
    is behind it where that is in what is coming; else the turn is over there as well.
    """
    return (
        *_counted(sounding, coming),
        *_played(sounding, coming),
        (sounding.duration_s, _behind(sounding, coming)),
    )


def _counted(sounding: Performance, coming: Performance) -> list[Joint]:
    """The beats before the start, counted back from it; more than what is coming has lead to its own count."""
    here, there = _count_in(sounding), _count_in(coming)
    missing = len(here) - len(there)
    return [(time_s, 0.0 if n < missing else there[n - missing]) for n, time_s in enumerate(here)]


def _count_in(performance: Performance) -> list[float]:
    """Its beats; a loop may go back behind them and a pre-roll, whose clicks are none of it."""
    clicks = (pluck for pluck in performance.plucks if pluck.part is Part.CLICK)
    return [click.start_s for click in clicks if click.start_s < performance.measures[0].start_s]


def _played(sounding: Performance, coming: Performance) -> list[Joint]:
    there, often, found = _by_index(coming), Counter[int](), []
    for measure in sounding.measures:
        for beat in measure.metre.beats:
            offset = beat - measure.missing
            if measure.low <= offset < measure.high:
                to_s = _moment(there[measure.index], offset, often[measure.index])
                found.append((measure.at(offset), coming.lead_s if to_s is None else to_s))
        often[measure.index] += 1
    return found


def _behind(sounding: Performance, coming: Performance) -> float:
    """When what lies behind the last measure of what sounds comes; else when the turn is over."""
    there, last = _by_index(coming), sounding.measures[-1]
    if _parts(sounding) == _parts(coming):
        return coming.duration_s
    for index, offset in ((last.index, last.high), (last.index + 1, Fraction(0))):
        to_s = _moment(there[index], offset, 0)
        if to_s is not None:
            return to_s
    return coming.duration_s


def _by_index(performance: Performance) -> dict[int, list[PlayedMeasure]]:
    """The measures played by their index in the score, each as often as it is played."""
    found = defaultdict(list)
    for measure in performance.measures:
        found[measure.index].append(measure)
    return found


def _parts(performance: Performance) -> list[tuple[int, Fraction, Fraction]]:
    return [(each.index, each.low, each.high) for each in performance.measures]


def _moment(there: list[PlayedMeasure], offset: Fraction, times: int) -> float | None:
    """When an offset of a measure comes that has come so many times before, or for the last time."""
    within = [each for each in there if each.low <= offset < each.high]
    return within[min(times, len(within) - 1)].at(offset) if within else None


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
