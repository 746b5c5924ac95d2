"""The review of a score: all findings, worked out measure by measure and remembered."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING, Any, NamedTuple

from tabterm.hand.difficulty import beats_round
from tabterm.hand.finding import Finding, Severity, Situation, Step, step_of
from tabterm.hand.fingering import KEPT_PHRASES, fingering
from tabterm.hand.leisure import give_way
from tabterm.hand.neck import neck_of
from tabterm.hand.rules import RULES
from tabterm.hand.rules.fingers import against_the_law, little_finger_loads
from tabterm.hand.rules.limits import beyond_the_limit
from tabterm.memory import Memory
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.hand.fingering import Fingering, Solved
    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Note, Score

__all__ = ["Finding", "Severity", "findings"]

KEPT_MEASURES = 4096  #: measures; implementation limit
"""Measures whose findings are remembered."""


class Looked(NamedTuple):
    """A measure as it was looked at.

    Attributes:
        played: The phrases that sound in it.
        grips: What the left hand does in it.
        found: Its findings.
        ringing: What rings on at its end.
    """

    played: tuple[Solved, ...]
    grips: tuple[object, ...]
    found: tuple[Finding, ...]
    ringing: tuple[Note, ...]


_LOOKED: Memory[Looked] = Memory(
    "findings",
    hangs_on="a measure and its number, the event before, what rings into it, head, tempo, neck, hands",
    most=KEPT_MEASURES,
)
_LOADS: Memory[tuple[Finding, ...]] = Memory(
    "loads of the little finger", hangs_on="a solved phrase", most=KEPT_PHRASES
)
_BEYOND: Memory[tuple[Finding, ...]] = Memory(
    "what is above the limit",
    hangs_on="a solved phrase, the metres and tempos of its measures, a pickup, where other findings are",
    most=KEPT_PHRASES,
)


def findings(score: Score, player: Player) -> tuple[Finding, ...]:
    """What the hands of a player cannot do or find hard, in score order.

    Fingers that are not set are taken as the search proposes them. A measure is looked at anew only when it,
    the event before it, the notes that ring into it, the head, the tempo, the player or the left hand's part in
    it is another than at the last call.
    """
    found: list[Finding] = []
    hand = fingering(score, player)
    neck = neck_of(score.head, player)
    before: Event | None = None
    before_place: Place | None = None
    ringing: tuple[Note, ...] = ()
    for index, (measure, tempo) in enumerate(zip(score.measures, score.tempos, strict=True)):
        give_way()
        surroundings = (measure, before, ringing, score.head, tempo, neck)
        looked = _looked_at(hand, index, surroundings, before_place)
        found.extend(looked.found)
        ringing = looked.ringing
        before, before_place = measure.events[-1], Place(index, measure.onsets[-1])
    known = [finding.place for finding in found if finding.severity is not Severity.REMARK]
    for solved in hand.phrases:
        give_way()
        found.extend(_loads(solved))
        found.extend(_beyond(score, solved, known))
    return tuple(sorted(found, key=lambda finding: finding.place))


def _beyond(score: Score, solved: Solved, known: list[Place]) -> tuple[Finding, ...]:
    """What is above the limit of the player in a phrase, given the places of the other findings in order."""
    first, last = solved.phrase[0].place, solved.phrase[-1].place
    there = tuple(known[bisect_left(known, first) : bisect_right(known, last)])
    hangs_on = (*beats_round(score, solved), there)
    return _BEYOND.of((solved,), hangs_on, lambda: tuple(beyond_the_limit(score, solved, there)))


def _loads(solved: Solved) -> tuple[Finding, ...]:
    return _LOADS.of((solved,), (), lambda: tuple(little_finger_loads(solved)))


def _looked_at(hand: Fingering, index: int, surroundings: tuple[Any, ...], before_place: Place | None) -> Looked:
    """A measure as it was looked at before, where all that tells is the same; else as it is now."""
    measure, played = surroundings[0], hand.by_measure.get(index, ())
    key = index, id(measure)
    known = _LOOKED.known(key, surroundings)
    if known is not None and known.played == played:
        return known
    steps = tuple(_steps(hand, Place(index, offset), event) for offset, event in measure.timed())
    grips = _grips(steps)
    if known is not None and known.grips == grips:
        return _LOOKED.keep(key, known._replace(played=played), surroundings)
    found, after = _of_measure(index, surroundings, steps, before_place)
    return _LOOKED.keep(key, Looked(played, grips, found, after), surroundings)


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


def _of_measure(
    index: int, surroundings: tuple[Any, ...], steps: tuple[tuple[Step, ...], ...], before_place: Place | None
) -> tuple[tuple[Finding, ...], tuple[Note, ...]]:
    """The findings of a measure, and what rings on at its end."""
    measure, before, ringing, head, tempo, neck = surroundings
    found: list[Finding] = []
    for (offset, event), of_event in zip(measure.timed(), steps, strict=True):
        place = Place(index, offset)
        length = before.length if before is not None else event.length
        gap_s = float(length) * 60.0 / tempo.quarters_per_minute
        moment = Situation(place, event, before, before_place, ringing, head, neck, tempo, gap_s, of_event)
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
