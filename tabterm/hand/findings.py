"""All findings of a score, worked out measure by measure and remembered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.finding import Finding, Moment, Severity
from tabterm.hand.rules import RULES
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.score.model import Event, Head, Measure, Note, Score
    from tabterm.score.tempo import Tempo

__all__ = ["Finding", "Severity", "findings"]

_remembered: dict[int, tuple[tuple[object, ...], tuple[Finding, ...], tuple[Note, ...]]] = {}


def findings(score: Score) -> tuple[Finding, ...]:
    """What the hands cannot do or find hard, in score order.

    A measure is looked at anew only when it, the event before it, the notes that ring into it, the head or the
    tempo is another than at the last call.
    """
    found: list[Finding] = []
    before: Event | None = None
    before_place: Place | None = None
    ringing: tuple[Note, ...] = ()
    for index, (measure, tempo) in enumerate(zip(score.measures, score.tempos, strict=True)):
        surroundings = (measure, before, ringing, score.head, tempo)
        known = _remembered.get(index)
        if known is None or not _same(known[0], surroundings):
            of_measure, after = _of_measure(measure, index, before, before_place, ringing, score.head, tempo)
            known = _remembered[index] = (surroundings, of_measure, after)
        found.extend(known[1])
        ringing = known[2]
        before, before_place = measure.events[-1], Place(index, measure.onsets[-1])
    return tuple(found)


def _same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    return all(a is b or a == b for a, b in zip(one, other, strict=True))


def _of_measure(
    measure: Measure,
    index: int,
    before: Event | None,
    before_place: Place | None,
    ringing: tuple[Note, ...],
    head: Head,
    tempo: Tempo,
) -> tuple[tuple[Finding, ...], tuple[Note, ...]]:
    """The findings of a measure, and what rings on at its end."""
    found: list[Finding] = []
    for offset, event in measure.timed():
        place = Place(index, offset)
        length = before.length if before is not None else event.length
        gap_s = float(length) * 60.0 / tempo.quarters_per_minute
        moment = Moment(place, event, before, before_place, ringing, head, gap_s)
        for rule in RULES:
            found.extend(rule(moment))
        ringing = _ringing_after(ringing, event)
        before, before_place = event, place
    return tuple(found), ringing


def _ringing_after(ringing: tuple[Note, ...], event: Event) -> tuple[Note, ...]:
    kept = [note for note in ringing if event.on_course(note.course) is None]
    return (*kept, *(note for note in event.notes if note.ring))
