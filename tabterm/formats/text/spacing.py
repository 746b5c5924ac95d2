"""The rhythm that the spacing of a measure suggests, as a teacher would read it.

Equal distances are equal values. Dashes before the first and behind the last note are padding, and what stands
between two notes (`h`, a second digit, `~`) may have moved what follows. The measure comes out whole, and of what
fits equally well the simplest values are taken.

Times are counted in ticks of 1/24 of a quarter, so that sixteenths of triplets are whole numbers. Costs have no
unit; a character off its place costs 0.5.
"""

from __future__ import annotations

import math
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise, product
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator

TICKS = 24
"""Of a quarter."""

STEPS = (24, 12, 48, 36, 6, 18, 16, 8, 3, 4)
"""Note values in ticks that distances are counted in, the plainest first."""

VALUES = {
    96: 0.0, 72: 0.1, 48: 0.0, 36: 0.3, 24: 0.0, 18: 0.25, 12: 0.0, 6: 0.1, 3: 0.5,
    16: 0.5, 8: 0.25, 4: 0.8, 32: 0.9, 9: 1.0, 84: 0.8, 42: 0.9, 60: 0.7, 30: 0.9,
}  # fmt: skip
"""Cost of a note of so many ticks: plain values first, then dotted, triplets, double dots, ties (tuned here)."""

OTHER_VALUE = 1.5
OFF_BEAT = 0.3
"""More for a note that lies across the beats though it could lie on them."""

PADDING = 2
"""Dashes before the first note that mean nothing."""

MOST_NOTES = 128
"""Of a stretch that is read at all; more are spread evenly (16 measures of eighths; tuned here)."""

LOOSE_END = 4
"""Dashes behind the last note, over its own room, that mean nothing."""

FAR, NEAR = 0.5, 0.2
"""For a character beside its place; for one in the half character that rounding explains (tuned here)."""

EVEN = 0.3
"""Less for four notes or more that are all equal."""

ROUNDED = 0.3
"""For steps that are no whole number of characters, where half a character may come from rounding."""

UNEVEN = 1.0
"""For equal distances that would not be equal values, for each of the first three."""


SURE, LIKELY = 0.6, 0.2
"""How much more the next best reading costs where one is sure, or likely (tuned here)."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the notes of a measure stand.

    Attributes:
        xs: Characters of the frets, ascending.
        before: Signs before each fret, with which it may begin.
        behind: Characters behind each fret's first that may have moved what follows, of all notes but the last.
        width: Characters of the measure.
    """

    xs: tuple[int, ...]
    before: tuple[int, ...]
    behind: tuple[int, ...]
    width: int


@dataclass(frozen=True, slots=True)
class Habit:
    """What is known of the writer from other measures.

    Attributes:
        padding: Dashes behind each bar line that mean nothing, or None.
        scale: Characters of a quarter, or 0.
        after: Dashes before each bar line that mean nothing.
    """

    padding: int | None = None
    scale: float = 0
    after: float = 0


@dataclass(frozen=True, slots=True)
class SpacedRhythm:
    """A rhythm for a layout.

    Attributes:
        cost: How far-fetched it is.
        onsets: Of the notes, in ticks.
        scale: Characters of a quarter.
        margin: How much more the next best rhythm costs.
    """

    cost: float
    onsets: tuple[int, ...]
    scale: float
    margin: float = 0

    @property
    def offsets(self) -> list[Fraction]:
        """Of the notes, in quarters."""
        return [Fraction(onset, TICKS) for onset in self.onsets]


@lru_cache(maxsize=4096)
def read_spacing(layout: Layout, length: int, beat: int, habit: Habit) -> SpacedRhythm:
    """The best rhythm for a layout in a measure of `length` ticks, whose beat has `beat`."""
    best: dict[tuple[int, ...], SpacedRhythm] = {}
    for reading in _readings(layout, length, beat, habit) if len(layout.xs) <= MOST_NOTES else ():
        known = best.get(reading.onsets)
        if known is None or reading.cost < known.cost:
            best[reading.onsets] = reading
    ranked = sorted(best.values(), key=lambda each: each.cost)
    if not ranked:
        count = len(layout.xs)
        onsets = tuple(length * number // count for number in range(count))
        return SpacedRhythm(6 * UNEVEN, onsets, layout.width * TICKS / length)
    margin = ranked[1].cost - ranked[0].cost if len(ranked) > 1 else 3 * UNEVEN
    return SpacedRhythm(ranked[0].cost, ranked[0].onsets, ranked[0].scale, margin)


def _readings(layout: Layout, length: int, beat: int, habit: Habit) -> Iterator[SpacedRhythm]:
    """Every way of counting the distances in steps that comes out at the measure's length, but hopeless ones."""
    lead, room = layout.xs[0], layout.width - layout.xs[-1]
    hopeless = math.inf
    for unit, moved in product(_units(layout, length, habit), _moves(layout)):
        far, steps = _counted(layout, unit, moved)
        if far >= hopeless:
            continue
        at = list(accumulate(steps, initial=0))
        for (rank, step), before in product(enumerate(STEPS), _rests(lead, unit)):
            slots, rest = divmod(length, step)
            last = slots - before - at[-1]
            if rest or last < 1:
                continue
            scale = unit * TICKS / step
            known = 0.5 if habit.scale and abs(scale / habit.scale - 1) > 0.2 else 0.0
            cost = far + known + rank * 0.001 + _lead(lead - before * unit, before, habit) + _end(room, last, unit)
            if len(set(steps)) == 1 and last == steps[0] and not before:
                cost -= EVEN * (len(steps) > 2)
            elif len(set(steps)) == 1 and (last != steps[0] or (before and lead <= PADDING)):
                filled = length if lead <= PADDING else length - before * step
                cost += _uneven(Fraction(filled, len(at)), len(steps), room, unit * steps[0], beat)
            if cost < hopeless:
                onsets = tuple((before + each) * step for each in at)
                cost += _values_cost(onsets, length, beat)
                hopeless = min(hopeless, cost + SURE)
                yield SpacedRhythm(cost, onsets, scale)


def _uneven(value: Fraction, gaps: int, room: int, gap: float, beat: int) -> float:
    """What it costs that equal distances are not equal values, which would be of `value` ticks.

    Equal are parts of a beat, beats, and triplets over two of them, unless the last note has far more room.
    """
    fits = value % beat == 0 or beat % value == 0 or value * 3 == beat * 2
    plenty = gap + LOOSE_END if gaps > 1 and value != 16 else max(gap, LOOSE_END + 1)
    if room > plenty:
        return 0.0
    return UNEVEN * min(gaps, 3) if fits and value in VALUES else UNEVEN / 2


def _units(layout: Layout, length: int, habit: Habit) -> list[float]:
    """Distances, in characters, that a step may take."""
    gaps = [right - left for left, right in pairwise(layout.xs)]
    units: set[float] = set(map(float, range(1, min(max(gaps, default=0), 16) + 1)))
    for step in STEPS:
        if length % step == 0:
            units |= {(layout.width - padding) * step / length for padding in range(PADDING + 1)}
            units |= {habit.scale * step / TICKS} if habit.scale else set()
    return sorted((unit for unit in units if unit >= 1), key=lambda unit: (not unit.is_integer(), unit))


def _moves(layout: Layout) -> set[tuple[int, ...]]:
    """By how much each distance is too wide: where frets, or the signs before them, or none are kept in column."""
    signs = [*pairwise(layout.before)]
    return {
        (0,) * len(signs),
        tuple(right - left for left, right in signs),
        tuple(right + behind for (_, right), behind in zip(signs, layout.behind, strict=True)),
    }


def _counted(layout: Layout, unit: float, moves: tuple[int, ...]) -> tuple[float, list[int]]:
    """The distances in steps, and what it costs to take them so, where they are likely too wide by `moves`."""
    far = 0.0 if unit.is_integer() else ROUNDED
    free = 0.0 if unit.is_integer() else 0.5
    steps = []
    for number, move in enumerate(moves):
        distance = layout.xs[number + 1] - layout.xs[number]
        most = min(layout.behind[number] + layout.before[number + 1], distance - 1)
        choices = []
        for taken in range(-layout.before[number], most + 1):
            step = max(round((distance - taken) / unit), 1)
            off = abs(distance - taken - step * unit)
            beyond = max(off - free, 0)
            cost = beyond * FAR + 2 * beyond / unit + min(off, free) * NEAR + abs(taken - move) * 0.03
            choices.append((cost, step))
        cost, step = min(choices)
        far += cost
        steps.append(step)
    return far, steps


def _rests(lead: int, unit: float) -> range:
    return range(int(lead / unit + 0.25) + 1)


def _lead(padding: float, before: int, habit: Habit) -> float:
    """What dashes before the first note cost that are taken for padding, and what a rest does."""
    cost = 0.3 if before else 0.0
    if habit.padding is None:
        return cost + max(padding - PADDING, 0) * 0.3 + max(-padding, 0) * 0.5
    return cost + abs(padding - habit.padding) * 0.3


def _end(room: int, last: int, unit: float) -> float:
    """What it costs that the last note has more room than its value, or less."""
    over = room - last * unit
    if over >= 0:
        return 0.02 * over + max(over - LOOSE_END, 0) / unit
    return 0.15 * -over / unit


def _values_cost(onsets: tuple[int, ...], length: int, beat: int) -> float:
    """What the values cost: twice their mean, so that long measures are not dearer."""
    total = 0.0
    for onset, end in pairwise((*onsets, length)):
        value = end - onset
        total += VALUES.get(value, OTHER_VALUE) if value < length else 0.0
        if beat % 9 == 0:
            crosses = onset % beat and onset // beat != (end - 1) // beat
            total += 2 * OFF_BEAT if crosses else -VALUES[beat] if value == beat and not onset % beat else 0.0
        elif onset % min(beat, TICKS) and value >= min(beat, TICKS):
            total += OFF_BEAT
        total += 2 * OFF_BEAT if value % 3 and onset % 8 else 0.0
        total += OFF_BEAT if onset % 12 and value % 12 == 0 else 0.0
    return 2 * total / len(onsets)
