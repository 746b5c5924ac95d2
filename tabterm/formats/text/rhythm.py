"""Rhythm in text tab: the row of durations, and proposals from the spacing where there is none."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.duration import TRIPLET, Duration

if TYPE_CHECKING:
    from collections.abc import Sequence

LETTERS = {"w": 1, "h": 2, "q": 4, "e": 8, "s": 16, "t": 32}
"""Note values by the letters that players write over a tab (common practice, no source)."""

_LETTER = re.compile(r"^([whqest])(\.{0,2})$", re.IGNORECASE)
GRIDS = (Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(1, 3), Fraction(1, 8), Fraction(1, 6))
"""Grids that spacing is fitted to, in quarters, the plainest first."""

TOLERANCE = 0.34
"""How far, in steps of a grid, a note may lie beside it and still be taken to be on it (by trial)."""

TOLERANCE_CHARACTERS = 0.8
"""The same in characters, for quarters: a figure's width, but not the sixteenth beside the beat (by trial)."""


def read_duration(text: str) -> Duration | None:
    """The duration of a word of a rhythm row (or of a letter, `q.`), or None."""
    letter = _LETTER.match(text)
    if letter is not None:
        return Duration(LETTERS[letter.group(1).lower()], len(letter.group(2)))
    try:
        if text.endswith("t"):
            return Duration.parse(text[:-1]).in_tuplet(TRIPLET)
        return Duration.parse(text)
    except ScoreError:
        return None


def onsets_from_spacing(xs: Sequence[int], width: int, length: Fraction) -> list[Fraction]:
    """Offsets of notes at characters `xs` of a measure that is `width` characters wide and lasts `length`.

    The plainest grid is taken on which every note lies within a third of a step (of quarters: within a
    character) and no two together; a dash or two before the first note are a margin. Where no grid fits, the
    nearest is taken, or the notes are spread evenly.
    """
    best: tuple[float, list[Fraction]] | None = None
    for grid in GRIDS:
        steps = length / grid
        if steps.denominator != 1:
            continue
        for margin in sorted({0, min(xs[0], 1), min(xs[0], 2)}):
            step = (width - margin) / int(steps)
            places = [(x - margin) / step for x in xs]
            slots = [round(place) for place in places]
            if len(set(slots)) < len(slots) or slots[-1] >= steps:
                continue
            error = max(abs(place - slot) for place, slot in zip(places, slots, strict=True))
            if error <= TOLERANCE and (grid < 1 or error * step <= TOLERANCE_CHARACTERS):
                return [slot * grid for slot in slots]
            if best is None or error < best[0]:
                best = (error, [slot * grid for slot in slots])
    if best is not None:
        return best[1]
    return [length * number / len(xs) for number in range(len(xs))]


def onsets_from_count(
    xs: Sequence[int], counted: Sequence[tuple[int, Fraction]], width: int, length: Fraction
) -> list[Fraction]:
    """Offsets of notes from a count row: (character, offset) pairs.

    A note belongs to the word nearest to it within a character; between two words it lies in proportion, on
    a grid of sixteenths.
    """
    points = [*counted, (width, length)]
    offsets: list[Fraction] = []
    for x in xs:
        near_x, near_offset = min(counted, key=lambda point: abs(point[0] - x))
        if abs(near_x - x) > 1:
            near_offset = _between(x, points)
        floor = offsets[-1] + Fraction(1, 16) if offsets else Fraction(0)
        offsets.append(max(near_offset, floor))
    if offsets[-1] < length:
        return offsets
    return [length * number / len(xs) for number in range(len(xs))]


def _between(x: int, points: Sequence[tuple[int, Fraction]]) -> Fraction:
    low = max((point for point in points if point[0] <= x), default=points[0])
    high = min((point for point in points if point[0] > low[0]), default=low)
    if high == low:
        return low[1]
    exact = low[1] + Fraction(x - low[0], high[0] - low[0]) * (high[1] - low[1])
    return Fraction(round(exact * 4), 4)
