"""The count over a tab, `1 e & a 2 & 3 4`: where its words lie in the measure, and the notes under them."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.formats.text.lines import COUNT_PARTS
from tabterm.score.metre import Metre

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.formats.text.measures import Segment

IN_TWO = {
    "&": Fraction(1, 2),
    "+": Fraction(1, 2),
    "and": Fraction(1, 2),
    "e": Fraction(1, 4),
    "a": Fraction(3, 4),
    "ah": Fraction(3, 4),
}
"""Words between the numbers, and their place in a beat that divides in two (common practice, no source)."""

IN_THREE = (
    IN_TWO | {word: Fraction(1, 3) for word in ("&", "+", "and")} | {"a": Fraction(2, 3), "ah": Fraction(2, 3)}
)
"""The same in a beat that divides in three."""

BY_HIGHEST = {2: "2/4", 3: "3/4", 4: "4/4", 5: "5/4", 6: "6/8", 9: "9/8", 12: "12/8"}
"""Metres by the highest number of a count (common practice, no source)."""


def _parts(segment: Segment) -> Iterator[tuple[int, str]]:
    for x, word in segment.rows.get("count", []):
        for match in COUNT_PARTS.finditer(word):
            yield x + match.start(), match.group().lower()


def _highest(segment: Segment) -> int:
    return max((int(part) for _, part in _parts(segment) if part.isdigit()), default=0)


def count_points(segment: Segment, metre: Metre) -> list[tuple[int, Fraction]]:
    """(character, offset) of the count above a segment; [] without one.

    A number counts a beat of the metre, or what the numbers fit in where they go beyond its beats: quarters in
    cut time, eighths in compound metres. A single number is no count but the number of the measure.
    """
    highest, beats = _highest(segment), len(metre.beats)
    in_beats = highest <= beats
    unit = metre.beats[1] - metre.beats[0] if in_beats and beats > 1 else Fraction(4, metre.unit)
    if not in_beats and not metre.compound and metre.unit < 4:
        unit = Fraction(1)
    between = IN_THREE if in_beats and metre.compound else IN_TWO
    points: list[tuple[int, Fraction]] = []
    beat = Fraction(0)
    for x, part in _parts(segment):
        if part not in between:
            beat = (int(part) - 1) * unit
        points.append((x, beat + between.get(part, 0) * unit))
    return points if len(points) > 1 else []


def count_starts(segment: Segment) -> list[int]:
    """Characters at which the count above a segment begins anew."""
    numbers = [(x, int(part)) for x, part in _parts(segment) if part.isdigit()]
    anew = [x for (_, before), (x, number) in pairwise(numbers) if number < before]
    return [numbers[0][0], *anew] if anew else []


def counted_metre(segments: Iterable[Segment]) -> Metre | None:
    """The metre that most counts end in, or None where nothing is counted."""
    highest = Counter(_highest(each) for each in segments if len(list(_parts(each))) > 1)
    usual = highest.most_common(1)[0][0] if highest else 0
    return Metre.parse(BY_HIGHEST.get(usual, "4/4")) if highest else None


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
