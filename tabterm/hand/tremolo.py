"""Tremolo on long notes, as a school proposes it.

Whole and half notes are played with it; notes tied together count as one, and the tremolo goes on to its end
(Bickford 1920, p. 42). A stroke that the player has set on a note is one stroke. Neither a staccato nor a dead
note nor a roll is a tremolo (common practice, no source).
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

from tabterm.hand.schools import SCHOOLS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from tabterm.score.model import Event, Score


def is_tremolo(score: Score, index: int, number: int, before: Event | None) -> bool:
    """Whether the school of a measure makes its event of a number a tremolo.

    Args:
        score: The score.
        index: Of the measure.
        number: Of the event in it.
        before: The event before it, with what is proposed for it.
    """
    event, school = score.measures[index].events[number], SCHOOLS[score.schools[index]]
    if school.tremolo_from is None or event.tremolo:
        return False
    if goes_on(event):
        return before is not None and before.tremolo_shown
    if not event.takes_stroke or event.stroke or event.staccato or event.roll:
        return False
    return not all(note.muted for note in event.notes) and _lasting(score, index, number) >= school.tremolo_from


def goes_on(event: Event) -> bool:
    """All of it is tied to the event before."""
    return bool(event.notes) and all(note.tied for note in event.notes)


def begins_before(score: Score, index: int) -> bool:
    """Whether every event of a measure goes on from one before it."""
    return index > 0 and all(goes_on(event) for event in score.measures[index].events)


def _lasting(score: Score, index: int, number: int) -> Fraction:
    """Quarters that an event lasts with all that is tied on to it."""
    length = score.measures[index].events[number].length
    for event in _behind(score, index, number):
        if not goes_on(event):
            break
        length += event.length
    return length


def _behind(score: Score, index: int, number: int) -> Iterator[Event]:
    """The events after one, over the bar lines."""
    yield from score.measures[index].events[number + 1 :]
    for measure in islice(score.measures, index + 1, None):
        yield from measure.events
