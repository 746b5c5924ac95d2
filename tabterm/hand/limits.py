"""How far an onset uses the speeds of the player up: strokes, two fingers in turn, the time for a shift."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.grips import transition
from tabterm.hand.player import EVIDENCE
from tabterm.hand.right_hand import course_of, leaves, speed_between
from tabterm.score.kinds import Reached, Stroke

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.hand.fingering import Hold
    from tabterm.hand.neck import Neck
    from tabterm.hand.onsets import Onset

SHORTEST_S = 0.02  #: s; implementation limit
"""Times below this are taken as this."""

SHIFT = "shift"
STROKES = {Stroke.DOWN, Stroke.UP}


class Used(NamedTuple):
    """A speed that an onset uses.

    Attributes:
        speed: Its name: a field of `Speeds`, or `SHIFT`.
        asked: Notes per second that are asked for; of a shift, the ms that it needs.
        limit: Notes per second that the player does; of a shift, the ms that there are.
    """

    speed: str
    asked: float
    limit: float

    @property
    def share(self) -> float:
        """The part of the limit that is used: 1 at the limit."""
        return self.asked / self.limit

    @property
    def words(self) -> str:
        """What is asked and what there is, in words."""
        if self.speed == SHIFT:
            return f"a shift that needs {self.asked:.0f} ms in {self.limit:.0f} ms"
        what = EVIDENCE[self.speed].what.partition(":")[0]
        return f"{what}: {self.asked:.1f} a second; your limit is {self.limit:g}"


def used(neck: Neck, holds: Sequence[Hold], number: int) -> Iterator[Used]:
    """The speeds that the onset of a number uses, given the hand at each onset of its phrase."""
    if not number:
        return
    before, hold = holds[number - 1], holds[number]
    rate = 1.0 / max(hold.onset.since_s, SHORTEST_S)
    stroke = _stroke(before.onset, hold.onset)
    if stroke is not None:
        yield Used(stroke, rate, getattr(neck.hand.speeds, stroke))
    for one, other in _in_turn(holds, number):
        yield Used(f"fingers_{one}{other}", rate, neck.pace(one, other))
    if before.frame != hold.frame:
        free_s = transition(before.onset, hold.onset).free_s(open_course=not before.grip.down)
        needed_s = neck.shift_s(before.frame, hold.frame)
        yield Used(SHIFT, needed_s * 1000.0, max(free_s, SHORTEST_S) * 1000.0)


def _stroke(before: Onset, onset: Onset) -> str | None:
    """The speed of two strokes right after each other; a tremolo and grace notes go by rules of their own."""
    if onset.grace is not None or before.grace is not None:
        return None
    if before.event.tremolo_shown or onset.event.tremolo_shown:
        return None
    if before.stroke not in STROKES or onset.stroke not in STROKES:
        return None
    ends, begins = leaves(before.event, before.stroke), course_of(onset.event, onset.stroke)
    return speed_between((ends, before.stroke), (begins, onset.stroke))


def _in_turn(holds: Sequence[Hold], number: int) -> Iterator[tuple[int, int]]:
    """Pairs of fingers, the lower first, that slur, or that go back to where they were: one, other, one.

    A grace note goes by rules of its own.
    """
    before, hold = holds[number - 1], holds[number]
    if before.onset.grace is not None:
        return
    earlier = holds[number - 2].grip.notes if number > 1 else ()
    for note, stop in zip(hold.onset.notes, hold.grip.notes, strict=True):
        old = next((each for each in before.grip.notes if each.course == stop.course), None)
        if old is None or not old.finger or not stop.finger or old.finger == stop.finger:
            continue
        if note.reached in {Reached.HAMMER, Reached.PULL} or stop in earlier:
            yield min(old.finger, stop.finger), max(old.finger, stop.finger)
