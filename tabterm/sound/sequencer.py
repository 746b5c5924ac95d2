"""The sequencer: which part of which plan is due when, turn after turn, on a time that only goes forward.

It knows neither clock nor output. Its time is in seconds from the start of the playing; every turn of a plan is
counted from the plan's own start, so that no rounding adds up.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from tabterm.sound.plan import Joint, Plan


@dataclass(frozen=True, slots=True)
class PlanStretch:
    """What is played of a plan without a jump.

    Attributes:
        plan: Of what.
        turn: In which of its turns, from 1.
        origin_s: When the start of the plan would have been due in this turn.
        from_s: Moment of the plan at which it begins.
        to_s: Moment of the plan at which it ends.
    """

    plan: Plan
    turn: int
    origin_s: float
    from_s: float
    to_s: float

    @property
    def begin_s(self) -> float:
        """When it begins."""
        return self.origin_s + self.from_s

    @property
    def end_s(self) -> float:
        """When it ends."""
        return self.origin_s + self.to_s

    @property
    def whole(self) -> bool:
        """It goes on to the end of the plan."""
        return self.to_s == self.plan.order.duration_s


class Sequencer:
    """What is played now, what takes over from it, and what follows.

    Attributes:
        now: The stretch that is played; None after the last.
        last: The plan that has begun last, be it one that took over at the very end, of which nothing was left.
    """

    last: Plan

    def __init__(self, plan: Plan) -> None:
        self.now: PlanStretch | None = None
        self._change: tuple[Plan, Joint] | None = None
        self._then: Plan | None = None
        self._begin(plan, 0.0)

    def _begin(self, plan: Plan, at_s: float) -> None:
        self.last, self._base_s, self._base_turn = plan, at_s, 1
        self.now = PlanStretch(plan, 1, at_s, 0.0, plan.order.duration_s)

    def change(self, plan: Plan, after_s: float) -> float | None:
        """Let a plan take over at the first joint that is not before `after_s`, instead of one that waits to.

        What was to follow is given up. Gives the moment of the plan at which it will; None, with nothing changed,
        where it follows another plan than the one that sounds.
        """
        now = self.now
        if now is None or plan.order.follows != now.plan.order.number:
            return None
        due = (joint for joint in plan.joints if joint[0] > now.from_s and now.origin_s + joint[0] >= after_s)
        joint = next(due, (now.plan.order.duration_s, plan.order.duration_s))
        self._change, self._then = (plan, joint), None
        self.now = replace(now, to_s=joint[0])
        return joint[1]

    def then(self, plan: Plan) -> None:
        """Let a plan follow when all turns have been played, instead of one that waits to."""
        self._then = plan

    def coming(self) -> tuple[Plan, float] | None:
        """What is played after the stretch that is played now, and from which of its moments."""
        now = self.now
        if now is None:
            return None
        if self._change is not None:
            return self._change[0], self._change[1][1]
        order = now.plan.order
        if now.turn < order.turns or not order.turns:
            return now.plan, order.lead_s
        return None if self._then is None else (self._then, 0.0)

    def advance(self) -> PlanStretch | None:
        """Go on to the stretch that begins where this one ends; None where nothing does."""
        now = self.now
        if now is None:
            return None
        if self._change is None:
            self._next_turn(now)
        else:
            (plan, (_, to_s)), self._change = self._change, None
            # As if all turns up to this one had been turns of this plan.
            self.last, self._base_s, self._base_turn = plan, now.end_s - to_s, now.turn
            self.now = PlanStretch(plan, now.turn, self._base_s, to_s, plan.order.duration_s)
            if to_s >= plan.order.duration_s:
                self._next_turn(self.now)
        return self.now

    def _next_turn(self, now: PlanStretch) -> None:
        order = now.plan.order
        if now.turn < order.turns or not order.turns:
            origin_s = self._base_s + (now.turn + 1 - self._base_turn) * now.plan.turn_s
            self.now = PlanStretch(now.plan, now.turn + 1, origin_s, order.lead_s, order.duration_s)
        elif self._then is not None:
            plan, self._then = self._then, None
            self._begin(plan, now.end_s)
        else:
            self.now = None
