"""What a MIDI file cannot hold of a score: it has what is heard, not how it is played or written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.formats import Remark
from tabterm.score.kinds import Barline, StrokeSchool
from tabterm.score.place import display_number
from tabterm.score.profile import REFERENCE_HAND, is_lent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tabterm.score.model import Event, Measure, Score


def _has_finger(event: Event) -> bool:
    return any(note.finger is not None for note in (*event.notes, *event.grace))


OF_MEASURES: dict[str, Callable[[Measure], bool]] = {
    "fingers are left out": lambda measure: any(map(_has_finger, measure.events)),
    "strokes are left out": lambda measure: any(event.stroke is not None for event in measure.events),
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


def not_carried(score: Score) -> tuple[Remark, ...]:
    """What the file does not say of a score, each with the first measure that has it."""
    return tuple(Remark(0, 0, message) for message in _messages(score))


def _messages(score: Score) -> Iterator[str]:
    head = score.head
    if head.credits:
        yield "credits are left out"
    if head.hand != REFERENCE_HAND and not is_lent(head.hand):
        yield "the hand of the score is left out"
    if head.school is not StrokeSchool.BEAT:
        yield "the school of strokes is left out"
    for message, has in OF_MEASURES.items():
        index = next((index for index, measure in enumerate(score.measures) if has(measure)), None)
        if index is not None:
            yield f"{message}, first in measure {display_number(score, index)}"
