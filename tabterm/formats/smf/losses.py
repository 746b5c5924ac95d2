"""What a MIDI file cannot hold of a score: it has what is heard, not how it is played or written."""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

from tabterm.score.kinds import Barline, StrokeSchool
from tabterm.score.place import display_number
from tabterm.score.report import Kind, Remark, Report

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Score
    from tabterm.score.place import Span


LARGEST_COUNT = 255
"""The upper figure of a time signature is one byte (Standard MIDI Files 1.0)."""


def signature_of(length: Fraction, metre: Metre) -> tuple[int, int]:
    """The time signature that makes the bar lines fall right: a pickup of a quarter is 1/4.

    It is that of the metre for a length that no signature has.
    """
    whole = length / 4
    unit = max(whole.denominator, metre.unit)
    count = whole * unit
    is_power = unit & (unit - 1) == 0
    return (int(count), unit) if is_power and count <= LARGEST_COUNT else (metre.count, metre.unit)


def _is_off_its_bar(length: Fraction, metre: Metre) -> bool:
    count, unit = signature_of(length, metre)
    return Fraction(4 * count, unit) != length


def _is_mode(key: Key) -> bool:
    return key.mode not in {"major", "minor"}


def _of_each(has: Callable[[Measure], bool], score: Score) -> Iterable[bool]:
    return map(has, score.measures)


def _has_finger(event: Event) -> bool:
    return any(note.finger_shown is not None for note in (*event.notes, *event.grace))


OF_MEASURES: dict[str, Callable[[Measure], bool]] = {
    "fingers are left out": lambda measure: any(map(_has_finger, measure.events)),
    "strokes are left out": lambda measure: any(event.stroke_shown is not None for event in measure.events),
    "schools of strokes are left out": lambda measure: measure.school is not None,
    "chord symbols are heard where chords are asked for, not written": lambda measure: bool(measure.chords),
    "repeats and endings are played out": lambda measure: (
        measure.repeat_start or measure.repeat_times > 0 or bool(measure.endings)
    ),
    "double bar lines are left out": lambda measure: measure.barline is Barline.DOUBLE,
    "names of sections are left out": lambda measure: bool(measure.section),
    "remarks are left out": lambda measure: bool(measure.remark),
    "the source line is left out": lambda measure: bool(measure.source),
}
"""What is said, and of which measures."""


OF_SCORES: dict[str, Callable[[Score], Iterable[bool]]] = {
    **{message: partial(_of_each, has) for message, has in OF_MEASURES.items()},
    "modes are left out: the major key of their signature is written": lambda score: map(_is_mode, score.keys),
    "bar lines are off behind a measure that no time signature fits": lambda score: map(
        _is_off_its_bar, (measure.length for measure in score.measures), score.metres
    ),
}
"""The same, and what depends on the measures before, for every measure of a score."""


def not_carried(score: Score, span: Span | None = None) -> Report:
    """What the file does not say of a score, or of a span of it, each with the first measure that has it."""
    whole = range(len(score.measures))
    heard = whole if span is None else whole[span.start.measure : span.end.measure + bool(span.end.offset)]
    return Report(tuple(Remark(Kind.LEFT_OUT, message) for message in _messages(score, heard)))


def _messages(score: Score, heard: range) -> Iterator[str]:
    head = score.head
    if head.credits:
        yield "credits are left out"
    if head.hand is not None:
        yield "the hand of the score is left out"
    if head.school is not StrokeSchool.BEAT:
        yield "the school of strokes is left out"
    for message, told in OF_SCORES.items():
        index = next((index for index, has in enumerate(told(score)) if has and index in heard), None)
        if index is not None:
            yield f"{message}, first in measure {display_number(score, index)}"
