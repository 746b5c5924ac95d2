"""Systems without bar lines: where one would put them."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

from tabterm.formats.text.counting import count_starts
from tabterm.formats.text.guesses import beat_of
from tabterm.formats.text.moments import layout_of, moments_of
from tabterm.formats.text.spacing import TICKS, Habit, read_spacing
from tabterm.score.kinds import Barline

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.formats.text.measures import Segment
    from tabterm.score.metre import Metre

USUAL, FASTEST = 2, 4
"""Notes in a quarter: of a tab without bar lines, the most between two (common practice, no source)."""

MORE = 3
"""Numbers of measures that are tried, from the fewest on."""

DEARER = 0.1
"""For each measure more (tuned here)."""


def with_bars(segments: Sequence[Segment], metre: Metre) -> Iterator[Segment]:
    """The segments; one that is all of its system is cut into as many measures as its notes fill."""
    in_system = Counter(segment.line for segment in segments)
    barred = any(segment.barline for segment in segments)
    for segment in segments:
        alone = in_system[segment.line] == 1 and segment.cells and not (barred and segment.has_rhythm)
        bars = _bars(segment, metre) if alone else []
        yield from _cut(segment, bars) if bars else [segment]


def _bars(segment: Segment, metre: Metre) -> list[int]:
    """Characters at which further measures begin."""
    if segment.has_rhythm:
        return _by_durations(segment, metre)
    starts = count_starts(segment)
    if starts:
        return starts[1:]
    moments = moments_of(segment)
    a_quarter = USUAL if segment.barline is None else FASTEST
    if len(moments) <= a_quarter * metre.length:
        return []
    fewest = ceil(len(moments) / (USUAL * metre.length))
    layout, beat = layout_of(segment, moments), beat_of(metre)
    length = int(metre.length * TICKS)
    readings = [
        (read_spacing(layout, count * length, beat, Habit()), count) for count in range(fewest, fewest + MORE)
    ]
    reading, count = min(readings, key=lambda each: each[0].cost + DEARER * each[1])
    first = [next((i for i, at in enumerate(reading.onsets) if at >= n * length), None) for n in range(1, count)]
    padding = min(moments[0].x, 2)
    return [moments[index].x - padding for index in first if index is not None]


def _by_durations(segment: Segment, metre: Metre) -> list[int]:
    """Where the durations above have filled a measure."""
    bars = []
    at = Fraction(0)
    for x, duration in segment.rhythm:
        if at and at % metre.length == 0:
            bars.append(x - 1)
        at += duration.length
    return bars


def _cut(segment: Segment, bars: Sequence[int]) -> Iterator[Segment]:
    """The segment in parts that begin at its start and at characters `bars`."""
    edges = [0, *bars, max(segment.width, bars[-1] + 1)]
    for number, (start, end) in enumerate(pairwise(edges)):
        first, last = number == 0, number == len(bars)

        def inside(x: int, start: int = start, end: int = end, *, first: bool = first, last: bool = last) -> bool:
            return (first or x >= start) and (last or x < end)

        yield replace(
            segment,
            start=segment.start + start,
            width=end - start,
            cells=[
                replace(cell, x=max(cell.x - start, 0), fret_x=cell.fret_x - start)
                for cell in segment.cells
                if inside(cell.fret_x)
            ],
            rhythm=[(x - start, duration) for x, duration in segment.rhythm if inside(x)],
            rows={
                name: [(x - start, word) for x, word in words if inside(x)] for name, words in segment.rows.items()
            },
            barline=segment.barline if last else Barline.SINGLE,
            opened=segment.opened or not first,
            repeat_start=segment.repeat_start and first,
            repeat_end=segment.repeat_end and last,
        )
