"""The original line of measures, laid over other measures of the same time."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.score.line import Moment
from tabterm.score.operations.stretches import Stretch, filled
from tabterm.score.operations.timeline import divided

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.metre import Metre
    from tabterm.score.model import Measure, SourceEvent


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
    made = filled(Moment, _stretches(sounding), length, metre, lead)
    return tuple(moment.source for _, moments in made for moment in moments)


def _stretches(sounding: Sequence[tuple[Fraction, Measure]]) -> Iterator[Stretch[Moment]]:
    """The source row of measures, from the start of the new one; what began before it is tied to it."""
    for start, measure in sounding:
        for offset, written in measure.timed_source():
            begins, moment = start + offset, Moment.of(written)
            end = begins + moment.length
            if begins < 0 < end:
                begins, moment = Fraction(0), divided(moment)[1]
            if begins >= 0:
                yield Stretch(begins, end - begins, moment, written.duration)
