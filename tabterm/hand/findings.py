"""All findings of a score, worked out measure by measure and remembered."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING, Any

from tabterm.hand.finding import Finding, Moment, Severity, Step, step_of
from tabterm.hand.fingering import fingering
from tabterm.hand.rules import RULES
from tabterm.hand.rules.fingers import against_the_law
from tabterm.hand.rules.load import little_finger_loads
from tabterm.hand.terms import STANDARD
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.hand.fingering import Fingering
    from tabterm.hand.terms import Weights
    from tabterm.score.model import Event, Note, Score

__all__ = ["Finding", "Severity", "findings"]

KEPT_MEASURES = 4096
"""Measures whose findings are remembered."""

_remembered: OrderedDict[tuple[int, int], tuple[tuple[object, ...], tuple[Finding, ...], tuple[Note, ...]]] = (
    OrderedDict()
)
"""By index and identity of a measure, which is kept alive here: its surroundings, findings, and what rings on."""


def findings(score: Score, weights: Weights = STANDARD) -> tuple[Finding, ...]:
    """What the hands cannot do or find hard, in score order.

    Fingers that are not set are taken as the search proposes them. A measure is looked at anew only when it,
    the event before it, the notes that ring into it, the head, the tempo or the left hand's part in it is
    another than at the last call.
    """
    found: list[Finding] = []
    hand = fingering(score, weights=weights)
    before: Event | None = None
    before_place: Place | None = None
    ringing: tuple[Note, ...] = ()
    for index, (measure, tempo) in enumerate(zip(score.measures, score.tempos, strict=True)):
        steps = tuple(_steps(hand, Place(index, offset), event) for offset, event in measure.timed())
        surroundings = (measure, before, ringing, score.head, tempo, _grips(steps))
        known = _remembered.get((index, id(measure)))
        if known is None or not _same(known[0], surroundings):
            of_measure, after = _of_measure(index, surroundings, steps, before_place)
            known = _remembered[index, id(measure)] = (surroundings, of_measure, after)
            while len(_remembered) > KEPT_MEASURES:
                _remembered.popitem(last=False)
        found.extend(known[1])
        ringing = known[2]
        before, before_place = measure.events[-1], Place(index, measure.onsets[-1])
    for solved in hand.phrases:
        found.extend(little_finger_loads(solved))
    return tuple(sorted(found, key=lambda finding: finding.place))


def _steps(hand: Fingering, place: Place, event: Event) -> tuple[Step, ...]:
    """The steps of the left hand to the grace notes of an event and to itself."""
    found = hand.at(place)
    if found is None:
        return ()
    solved, last = found
    return tuple(step_of(solved, number) for number in range(last - len(event.grace), last + 1))


def _grips(steps: tuple[tuple[Step, ...], ...]) -> tuple[object, ...]:
    """What the rules look at in the steps, without the score's own values."""
    return tuple(
        (step.hold.grip, step.hold.frame, step.before and (step.before.grip, step.before.frame), step.between)
        for group in steps
        for step in group
    )


def _same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    return all(a is b or a == b for a, b in zip(one, other, strict=True))


def _of_measure(
    index: int, surroundings: tuple[Any, ...], steps: tuple[tuple[Step, ...], ...], before_place: Place | None
) -> tuple[tuple[Finding, ...], tuple[Note, ...]]:
    """The findings of a measure, and what rings on at its end."""
    measure, before, ringing, head, tempo, _ = surroundings
    found: list[Finding] = []
    for (offset, event), of_event in zip(measure.timed(), steps, strict=True):
        place = Place(index, offset)
        length = before.length if before is not None else event.length
        gap_s = float(length) * 60.0 / tempo.quarters_per_minute
        moment = Moment(place, event, before, before_place, ringing, head, gap_s, of_event)
        of_moment = [finding for rule in RULES for finding in rule(moment)]
        if not any(finding.severity is Severity.IMPOSSIBLE for finding in of_moment):
            of_moment.extend(against_the_law(moment))
        found.extend(of_moment)
        ringing = _ringing_after(ringing, event)
        before, before_place = event, place
    return tuple(found), ringing


def _ringing_after(ringing: tuple[Note, ...], event: Event) -> tuple[Note, ...]:
    if event.is_rest:
        return ()
    kept = [note for note in ringing if event.on_course(note.course) is None]
    return (*kept, *(note for note in event.notes if note.ring))
