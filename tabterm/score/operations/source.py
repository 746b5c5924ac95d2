"""The original line of measures, laid over other measures of the same time."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.score.model import SourceEvent
from tabterm.score.operations.spelling import spell

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.metre import Metre
    from tabterm.score.model import Measure


def source_laid(
    sounding: Sequence[tuple[Fraction, Measure]], length: Fraction, metre: Metre, lead: Fraction = Fraction(0)
) -> tuple[SourceEvent, ...]:
    """The source line of a new measure, silent where the old ones have none; () without any.

    Args:
        sounding: The old measures with their offsets from the start of the new one.
        length: Quarters of the new measure.
        metre: Its metre.
        lead: Where in the metre it begins.
    """
    if not any(measure.source for _, measure in sounding):
        return ()
    line: list[SourceEvent] = []
    at = Fraction(0)
    for start, end, event in _stretches(sounding):
        low, high = max(start, at), min(end, length)
        if low < high:
            line += _silence(lead + at, low - at, metre)
            cut = event.with_(tied=True, held=()) if start < low and event.pitches else event
            line += _written(lead + low, high - low, cut, metre)
            at = high
    return (*line, *_silence(lead + at, length - at, metre))


def _stretches(sounding: Sequence[tuple[Fraction, Measure]]) -> Iterator[tuple[Fraction, Fraction, SourceEvent]]:
    """Start and end of every event of the source."""
    for start, measure in sounding:
        for offset, event in measure.timed_source():
            yield start + offset, start + offset + event.duration.length, event


def _written(offset: Fraction, length: Fraction, event: SourceEvent, metre: Metre) -> Iterator[SourceEvent]:
    """An event over a stretch, in as many tied parts as its spelling asks for; as it is where it fits."""
    if event.duration.length == length:
        yield event
        return
    for number, duration in enumerate(spell(offset, length, metre)):
        later = bool(event.pitches) and number > 0
        yield event.with_(duration=duration, tied=event.tied or later, held=() if later else event.held)


def _silence(offset: Fraction, length: Fraction, metre: Metre) -> Iterator[SourceEvent]:
    for duration in spell(offset, length, metre):
        yield SourceEvent(duration=duration)
