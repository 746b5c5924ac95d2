"""What a text tab does not say and its measures let one guess: metre, pickup, the writer's habits, the rhythm."""

from __future__ import annotations

import statistics
from collections import Counter
from dataclasses import field
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.text.cells import layout_of, moments_of
from tabterm.formats.text.counting import count_points, counted_metre, onsets_from_count
from tabterm.formats.text.spacing import LIKELY, SURE, TICKS, Habit, read_spacing
from tabterm.score.metre import COMMON_TIME, Metre

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.formats.text.measures import Segment
    from tabterm.formats.text.spacing import SpacedRhythm

NARROW = 0.7
"""A first measure narrower than this part of the others, with no row of durations, is taken for a pickup."""

METRES = tuple(map(Metre.parse, ("4/4", "3/4", "6/8")))
"""Metres that measures without a declared one are tried in; the first unless another fits clearly better."""

CLEARLY = 0.4
"""How much less the measures must cost on average in another metre than common time (tuned here)."""

DEAREST = 3.0
"""Of a measure in that average, so that one odd measure does not decide (tuned here)."""

MOST_TRIED = 64
"""Measures that are looked at for the metre and the habits of the writer."""

MOST_PADDING = 4
"""Dashes behind every bar line that are padding still, and no rest (tuned here)."""

MOST_NAMED = 12
"""Measures that are named as doubtful, of more only the number is told."""


@dataclass(slots=True)
class Guesses:
    """What was guessed for a text, and how sure each measure's rhythm is.

    Attributes:
        habit: How the writer spaces.
        pickup: Length of the first measure in quarters, or None where it is whole.
        margins: How sure the rhythm of each segment is, by the number of its line and its first character.
    """

    habit: Habit = field(default_factory=Habit)
    pickup: Fraction | None = None
    margins: dict[tuple[int, int], float] = field(default_factory=dict)

    @classmethod
    def of(cls, segments: Sequence[Segment], metre: Metre) -> Guesses:
        """The guesses for the first segments of all measures."""
        habit = habit_of([each for each in segments[1:] or segments if not each.has_rhythm], metre)
        pickup = pickup_of(segments, metre, habit) if not segments[0].has_rhythm else None
        return cls(habit, pickup)

    def offsets(self, segment: Segment, metre: Metre, length: Fraction) -> list[Fraction]:
        """Offsets in quarters of the moments of a segment that has some."""
        moments = moments_of(segment)
        counted = count_points(segment, metre)
        if counted:
            return onsets_from_count([moment.x for moment in moments], counted, segment.width, length)
        reading = read_spacing(layout_of(segment, moments), int(length * TICKS), beat_of(metre), self.habit)
        self.margins[segment.line, segment.start] = reading.margin
        return reading.offsets

    def doubtful(self, chunks: Iterable[Sequence[Segment]], below: float = SURE) -> list[int]:
        """Numbers of the measures whose rhythm is not sure, as a player counts them: a pickup is 0."""
        return [
            number
            for number, segments in enumerate(chunks, 0 if self.pickup else 1)
            if any(self.margins.get((each.line, each.start), below) < below for each in segments)
        ]


def beat_of(metre: Metre) -> int:
    """Ticks of a beat."""
    return int(TICKS * Fraction(12 if metre.compound else 4, metre.unit))


def _read(segment: Segment, metre: Metre, habit: Habit) -> SpacedRhythm:
    moments = moments_of(segment)
    return read_spacing(layout_of(segment, moments), int(metre.length * TICKS), beat_of(metre), habit)


def habit_of(segments: Iterable[Segment], metre: Metre) -> Habit:
    """What the measures that hold notes say of their writer; nothing where there are not two of them."""
    spaced = [each for each in segments if each.cells][:MOST_TRIED]
    if len(spaced) < 2:
        return Habit()
    padding = min(moments_of(each)[0].x for each in spaced)
    readings = [_read(each, metre, Habit()) for each in spaced]
    scale, times = Counter(round(each.scale, 1) for each in readings).most_common(1)[0]
    ends = [
        each.width - moments_of(each)[-1].x - float(metre.length - reading.offsets[-1]) * reading.scale
        for each, reading in zip(spaced, readings, strict=True)
    ]
    return Habit(
        padding=padding if padding <= MOST_PADDING else None,
        scale=scale if times * 2 > len(spaced) else 0,
        after=max(min(ends), 0),
    )


def pickup_of(segments: Sequence[Segment], metre: Metre, habit: Habit) -> Fraction | None:
    """Length of a pickup in quarters, on the eighth grid, or None where the first measure is as long as others.

    It is narrow beside the others and holds fewer notes; it is as long as its notes at the spacing of the others.
    """
    first, others = segments[0], segments[1:]
    moments = moments_of(first)
    if not others or not moments:
        return None
    usual = max(statistics.median(each.width for each in others), 1)
    notes = statistics.median(len(moments_of(each)) for each in others)
    if first.width >= NARROW * usual or len(moments) >= max(notes, 4):
        return None
    scale = habit.scale or usual / float(metre.length)
    layout = layout_of(first, moments)
    signs = zip(layout.behind, layout.before[1:], strict=True)
    gaps = [right - left - sum(sign) / 2 for (left, right), sign in zip(pairwise(layout.xs), signs, strict=True)]
    gaps.append(gaps[-1] if gaps else max(first.width - moments[-1].x - habit.after, 1))
    halves = round(sum(max(round(gap / scale * 2), 1) for gap in gaps))
    length = Fraction(halves, 2)
    return length if length < metre.length else None


def metre_of(segments: Sequence[Segment]) -> Metre:
    """The metre in which most measures come out whole, where none is declared."""
    counted = counted_metre(segments)
    lengths = [sum((each.duration.length for each in segment.rhythm), Fraction(0)) for segment in segments]
    given = Counter(length for length in lengths if length).most_common(1)
    if counted is not None:
        return counted
    if given:
        length, times = given[0]
        return METRES[1] if length == 3 and times > 1 else COMMON_TIME
    narrow = segments[0].width < NARROW * statistics.median(each.width for each in segments)
    spaced = [each for each in segments[narrow:] if each.cells][:MOST_TRIED]
    if not spaced:
        return COMMON_TIME
    costs = {
        metre: statistics.fmean(min(_read(each, metre, Habit()).cost, DEAREST) for each in spaced)
        for metre in METRES
    }
    cheapest = min(METRES, key=lambda metre: costs[metre])
    return cheapest if costs[COMMON_TIME] - costs[cheapest] > CLEARLY else COMMON_TIME


def how_sure(guesses: Guesses, chunks: Sequence[Sequence[Segment]]) -> str:
    """How sure the rhythm is, as the end of a remark."""
    doubtful, poor = guesses.doubtful(chunks), set(guesses.doubtful(chunks, LIKELY))
    if not doubtful:
        return ", and sure"
    named = ", ".join(f"{number}?" if number in poor else str(number) for number in doubtful[:MOST_NAMED])
    more = f" and {len(doubtful) - MOST_NAMED} more" if len(doubtful) > MOST_NAMED else ""
    word = "measure" if len(doubtful) == 1 else "measures"
    return f"; check {word} {named}{more}" + (" (?: hardly more than a guess)" if poor else "")
