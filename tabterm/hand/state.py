"""The hand at a moment: its frame, what is stopped, what stays down, how far it reaches, and its next shift."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.bands import band_of
from tabterm.hand.finding import step_of
from tabterm.hand.neck import widest_of
from tabterm.score.query import event_at

if TYPE_CHECKING:
    from tabterm.hand.fingering import Fingering, Solved
    from tabterm.hand.stops import Stop
    from tabterm.score.model import Score
    from tabterm.score.place import Place


@dataclass(frozen=True, slots=True)
class Shift:
    """A move of the hand to another frame.

    Attributes:
        from_fret: Where the index finger has its own place before.
        to_fret: Where it has it then.
        mm: How far, along the neck; negative towards the nut.
        free_ms: Time that the hand has for it.
        needed_ms: Time that it needs.
    """

    from_fret: int
    to_fret: int
    mm: float
    free_ms: float
    needed_ms: float


@dataclass(frozen=True, slots=True)
class HandState:
    """What the left hand does at a moment.

    Attributes:
        notes: The stops of the notes that begin here or go on.
        held: Stops of notes that ring on from before.
        ready: Stops set down beforehand for a pull-off.
        stays: Of all these, the ones that are down at the next onset too.
        frame: The fret at which the index finger has its own place; None where nothing sounds.
        last: The farthest fret that the little finger reaches in comfort from there.
        reach_mm: The widest reach between two fingers, 0 where there is none.
        limit_mm: Up to where that reach is comfortable for this hand.
        verdict: What it asks, "" where there is no reach.
        shift: The shift to the next onset, or None.
    """

    notes: tuple[Stop, ...] = ()
    held: tuple[Stop, ...] = ()
    ready: tuple[Stop, ...] = ()
    stays: tuple[Stop, ...] = ()
    frame: int | None = None
    last: int | None = None
    reach_mm: float = 0.0
    limit_mm: float = 0.0
    verdict: str = ""
    shift: Shift | None = None


def hand_at(score: Score, hand: Fingering, place: Place) -> HandState:
    """The hand at a place of a score, given the score's fingering; in a rest, the hand before it."""
    found = event_at(score, place)
    if found is None:
        return HandState()
    at = hand.at(found[0]) or _last_before(hand, found[0])
    if at is None:
        return HandState()
    solved, number = at
    grip = solved.holds[number].grip
    reach = widest_of(solved.neck, grip.down)
    neck, frame = solved.neck, solved.holds[number].frame
    comfort_mm = neck.mm(frame) + band_of((1, 4), neck.hand.span_mm).comfortable_mm
    following = solved.holds[number + 1].grip.down if number + 1 < len(solved.holds) else ()
    return HandState(
        notes=grip.notes,
        held=tuple(stop for stop in grip.held if stop.finger),
        ready=grip.ready,
        stays=tuple(stop for stop in grip.down if stop in following),
        frame=frame,
        last=neck.last_within(comfort_mm),
        reach_mm=reach.reach_mm if reach else 0.0,
        limit_mm=reach.comfortable_mm if reach else 0.0,
        verdict=reach.verdict.value if reach else "",
        shift=shift_to(solved, number + 1),
    )


def _last_before(hand: Fingering, place: Place) -> tuple[Solved, int] | None:
    """The last onset before a place, where the phrase goes on after it."""
    solved = hand.phrase_at(place)
    if solved is None:
        return None
    number = bisect_right([onset.place for onset in solved.phrase], place) - 1
    return (solved, number) if number + 1 < len(solved.phrase) else None


def shift_to(solved: Solved, number: int) -> Shift | None:
    """The shift to the onset of a number, or None: the hand stays, or the phrase has no such onset."""
    if number >= len(solved.holds):
        return None
    step = step_of(solved, number)
    if step.before is None or not step.shifts:
        return None
    neck, one, other = solved.neck, step.before.frame, step.hold.frame
    mm = neck.mm(other) - neck.mm(one)
    return Shift(one, other, mm, step.free_s * 1000.0, neck.shift_s(one, other) * 1000.0)
