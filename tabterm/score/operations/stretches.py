"""Stretches of music laid into measures: spelled, filled up with rests, tied over bar lines."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Generic

from tabterm.errors import ScoreError
from tabterm.score.line import Sounding
from tabterm.score.operations.spelling import spell
from tabterm.score.operations.timeline import divided, in_parts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.score.duration import Duration
    from tabterm.score.metre import Metre


@dataclass(slots=True)
class Stretch(Generic[Sounding]):
    """What sounds, or is silent, over a stretch of time.

    Attributes:
        onset: Quarters from the start of its measure.
        length: Quarters.
        event: What; its duration means nothing.
        written: The note value that is kept where it is as long, or None.
        line: Line of the file, from 1; 0: not told.
    """

    onset: Fraction
    length: Fraction
    event: Sounding
    written: Duration | None = None
    line: int = 0


def filled(
    event: type[Sounding],
    stretches: Iterable[Stretch[Sounding]],
    length: Fraction,
    metre: Metre,
    lead: Fraction = Fraction(0),
) -> Iterator[tuple[Stretch[Sounding] | None, list[Sounding]]]:
    """The events of each stretch of a measure, and of the silence between them (None).

    Args:
        event: The class that rests are of.
        stretches: What sounds, in order, nothing over another.
        length: Quarters of the measure.
        metre: Its metre.
        lead: Where in the metre it begins.

    Raises:
        ScoreError: A stretch of time is too fine to write.
    """

    def rests(offset: Fraction, length: Fraction) -> list[Sounding]:
        return [event(duration=duration) for duration in spell(lead + offset, length, metre)]

    at = Fraction(0)
    for each in stretches:
        end, lasts = each.onset + each.length, each.length
        if end > length:
            end, lasts = length, length - each.onset
        if lasts.numerator <= 0:
            continue
        if each.onset != at:
            yield None, rests(at, each.onset - at)
        if each.written is not None and each.written.length == lasts:
            same = each.event.duration == each.written
            yield each, [each.event if same else each.event.with_(duration=each.written)]
        else:
            yield each, in_parts(each.event, _spelled(lead + each.onset, lasts, metre, each.line))
        at = end
    if at != length:
        yield None, rests(at, length - at)


def over_bars(
    stretches: Iterable[Stretch[Sounding]], lengths: Iterable[Fraction]
) -> Iterator[list[Stretch[Sounding]]]:
    """The stretches of each of the measures of these lengths; what lasts over a bar line is tied over it.

    The onsets that come in are counted from the start of the first measure.
    """
    queue = deque(stretches)
    start = Fraction(0)
    for length in lengths:
        end, inside = start + length, list[Stretch[Sounding]]()
        while queue and queue[0].onset < end:
            each = queue.popleft()
            room, event = end - each.onset, each.event
            if each.length > room:
                event, later = divided(event)
                queue.appendleft(replace(each, onset=end, length=each.length - room, event=later))
            inside.append(replace(each, onset=each.onset - start, length=min(each.length, room), event=event))
        yield inside
        start = end


def _spelled(offset: Fraction, length: Fraction, metre: Metre, line: int) -> tuple[Duration, ...]:
    try:
        return spell(offset, length, metre)
    except ScoreError as error:
        raise ScoreError(error.message, hint=error.hint, place=f"line {line}" if line else "") from None
