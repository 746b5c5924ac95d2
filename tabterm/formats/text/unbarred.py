"""Systems without bar lines: where one would put them."""

from __future__ import annotations

from bisect import bisect
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

from tabterm.formats.text.cells import layout_of, moments_of
from tabterm.formats.text.counting import count_starts
from tabterm.formats.text.guesses import beat_of
from tabterm.formats.text.spacing import MOST_NOTES, TICKS, Habit, read_spacing
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
    if len(moments) > MOST_NOTES:
        return [moment.x for moment in moments[:: int(USUAL * metre.length) or 1][1:]]
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
    for value in segment.rhythm:
        if at and at % metre.length == 0:
            bars.append(value.x - 1)
        at += value.duration.length
    return bars


def _cut(segment: Segment, bars: Sequence[int]) -> Iterator[Segment]:
    """The segment in parts that begin at its start and at characters `bars`."""
    starts = [0, *bars]
    parts = [
        replace(
            segment,
            start=segment.start + start,
            width=end - start,
            cells=[],
            rhythm=[],
            rows={name: [] for name in segment.rows},
            barline=Barline.SINGLE,
            repeat_start=False,
            repeat_end=False,
        )
        for start, end in pairwise([*starts, max(segment.width, bars[-1] + 1)])
    ]
    for cell in segment.cells:
        number = bisect(bars, cell.fret_x)
        start = starts[number]
        parts[number].cells.append(replace(cell, x=max(cell.x - start, 0), fret_x=cell.fret_x - start))
    for value in segment.rhythm:
        number = bisect(bars, value.x)
        parts[number].rhythm.append(replace(value, x=value.x - starts[number]))
    for name, words in segment.rows.items():
        for x, word in words:
            number = bisect(bars, x)
            parts[number].rows[name].append((x - starts[number], word))
    parts[0].repeat_start, parts[-1].repeat_end = segment.repeat_start, segment.repeat_end
    parts[-1].barline = segment.barline
    for part in parts[1:]:
        part.opened = True
    return iter(parts)
