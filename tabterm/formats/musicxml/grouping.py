"""What groups notes on the page: beams inside a beat, brackets over tuplets."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure

LEVELS = {8: 1, 16: 2, 32: 3, 64: 4, 128: 5, 256: 6}
"""Beams of each note value."""

Beams = dict[int, list[str]]
"""By number of the event: what each of its beams does, the outermost first."""


def beams_of(measure: Measure, metre: Metre, lead: Fraction) -> Beams:
    """Beams that join the notes of each beat; rests part them."""
    beams: Beams = {}
    for run in _runs(measure, metre, lead):
        levels = [LEVELS[measure.events[number].duration.value] for number in run]
        for place, number in enumerate(run):
            before = levels[place - 1] if place else 0
            after = levels[place + 1] if place + 1 < len(run) else 0
            beams[number] = [_beam(level, before, after) for level in range(1, levels[place] + 1)]
    return beams


def _beam(level: int, before: int, after: int) -> str:
    """What a beam of one level does between notes of so many levels."""
    if before >= level:
        return "continue" if after >= level else "end"
    if after >= level:
        return "begin"
    return "backward hook" if before else "forward hook"


def _runs(measure: Measure, metre: Metre, lead: Fraction) -> Iterator[list[int]]:
    """Numbers of neighbouring events, two or more, that share a beat and can be beamed."""
    run: list[int] = []
    beat = -1
    for number, (offset, event) in enumerate(measure.timed()):
        own, start, _ = metre.beat_at(lead + offset)
        fits = not event.is_rest and event.duration.value in LEVELS
        if run and (not fits or own != beat or lead + offset == start):
            if len(run) > 1:
                yield run
            run = []
        beat = own
        if fits:
            run.append(number)
    if len(run) > 1:
        yield run


@dataclass(slots=True)
class _Bracket:
    """A tuplet being gathered: its ratio, first event, time so far and shortest value, in quarters."""

    ratio: object
    first: int
    time: Fraction
    unit: Fraction


def tuplets_of(events: Sequence[Event]) -> dict[int, list[str]]:
    """By number of the event: `start`, `stop` or both, where a tuplet begins and ends.

    A tuplet is whole when its notes fill a number of its own shortest value, as many as its ratio says.
    """
    marks: dict[int, list[str]] = {}
    bracket: _Bracket | None = None
    for number, event in enumerate(events):
        tuplet = event.duration.tuplet
        if bracket is not None and tuplet != bracket.ratio:
            _close(marks, bracket, number - 1)
            bracket = None
        if tuplet is None:
            continue
        value = Fraction(4, event.duration.value)
        if bracket is None:
            bracket = _Bracket(tuplet, number, Fraction(0), value)
        bracket.time += event.length
        bracket.unit = min(bracket.unit, value)
        if (bracket.time / (bracket.unit * tuplet.normal)).denominator == 1:
            _close(marks, bracket, number)
            bracket = None
    if bracket is not None:
        _close(marks, bracket, len(events) - 1)
    return marks


def _close(marks: dict[int, list[str]], bracket: _Bracket, last: int) -> None:
    marks.setdefault(bracket.first, []).append("start")
    marks.setdefault(last, []).append("stop")
