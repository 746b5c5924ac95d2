"""A rendition: what a plan sounds like, block by block, while other plans take over from it or follow it."""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

import numpy as np

from tabterm.sound.record import WITHIN_S, Along
from tabterm.sound.ring import CHANNELS
from tabterm.sound.sequencer import Sequencer
from tabterm.sound.synthesiser import RATE, Synthesiser

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tabterm.performance.model import Part, Pluck
    from tabterm.sound.plan import Plan
    from tabterm.sound.sequencer import PlanStretch

SAME_S = 1e-6  #: s; implementation limit
"""Moments nearer to each other than this are one."""

SAME_CENTS = 1.0  #: cents; implementation limit


PATIENCE_S = 60.0  #: s; implementation limit
"""So long a recording may give nothing before its part of a file is left silent."""

BLOCK = 8192  #: frames; implementation limit


def rendered(plan: Plan, frames: int) -> Iterator[NDArray[np.float32]]:
    """A plan with the recording that is heard along, block by block, for a file; raises SoundError."""
    rendition = Rendition(plan, patience_s=PATIENCE_S)
    try:
        while rendition.frame < frames:
            yield rendition.read(min(BLOCK, frames - rendition.frame))
    finally:
        rendition.close()


class Rendition:
    """Renders plans as samples. Every frame is counted from the first, so that no rounding adds up.

    Attributes:
        frame: The frame that `read` gives next.
        rate: Frames a second.
        begun: The stretches begun, each with its first frame; whoever reads them may take them out.
        over: The frame behind the last stretch, once that has been rendered, and the number of the last plan.
    """

    def __init__(self, plan: Plan, rate: int = RATE, *, patience_s: float = WITHIN_S) -> None:
        self.frame = 0
        self.rate = rate
        self.begun: list[tuple[int, PlanStretch]] = []
        self.over: tuple[int, int] | None = None
        self._sequencer = Sequencer(plan)
        self._synthesiser = Synthesiser(plan.voicing, rate)
        self._voicing = plan.voicing
        self._shift = 0
        self._fading: list[Synthesiser] = []
        self._along = Along(rate, patience_s)
        if plan.record is not None:
            self._along.expect(plan.record, 0.0)
        self._enter()

    @property
    def plays(self) -> bool:
        """Whether there is something left to play; what dies away is not counted."""
        return self._sequencer.now is not None

    @property
    def sounds(self) -> bool:
        """Whether there is something left to be heard."""
        return self.plays or self._synthesiser.sounding or bool(self._fading) or self._along.sounds

    def change(self, plan: Plan) -> bool:
        """Let a plan take over at the next beat; False where it follows another plan than the one that sounds."""
        at_s = self._sequencer.change(plan, self.frame / self.rate)
        if at_s is not None and plan.record is not None:
            self._along.expect(plan.record, at_s)
        return at_s is not None

    def then(self, plan: Plan) -> None:
        """Let a plan follow after the last turn."""
        self._sequencer.then(plan)

    def close(self) -> None:
        """Let go of what is read ahead."""
        self._along.close()

    def read(self, frames: int) -> NDArray[np.float32]:
        """The next (frames, 2) samples."""
        blocks = [np.zeros((0, CHANNELS), np.float32)]
        last = self.frame + frames
        while self.frame < last:
            stretch = self._sequencer.now
            if stretch is None:
                blocks.append(self._sound(last - self.frame))
                continue
            end = self._frame_of(stretch.end_s)
            if self.frame >= end:
                self._go_on(stretch)
                continue
            until = min(end, last)
            self._set_off(stretch, until)
            blocks.append(self._sound(until - self.frame))
        return np.concatenate(blocks)

    def _origin_of(self, stretch: PlanStretch) -> int:
        """The frame at which the start of its plan would have been, so that the stretch begins where it must."""
        return self._frame_of(stretch.begin_s) - self._frame_of(stretch.from_s)

    def _frame_of(self, time_s: float) -> int:
        return round(time_s * self.rate)

    def _set_off(self, stretch: PlanStretch, until: int) -> None:
        """Hand the synthesiser what begins before a frame."""
        origin, plucks = self._origin_of(stretch), stretch.plan.plucks
        while self._next < len(plucks) and origin + self._frame_of(plucks[self._next].start_s) < until:
            self._synthesiser.play(plucks[self._next], origin - self._shift)
            self._next += 1

    def _sound(self, frames: int) -> NDArray[np.float32]:
        block = self._synthesiser.read(frames)
        for synthesiser in self._fading:
            block = block + synthesiser.read(frames)
        self._fading = [each for each in self._fading if each.sounding]
        block = self._with_record(block)
        self.frame += frames
        return block

    def _with_record(self, block: NDArray[np.float32]) -> NDArray[np.float32]:
        """What is heard of a recording along with a block; apart, all else is on the right."""
        stretch = self._sequencer.now
        record = None if stretch is None else stretch.plan.record
        if record is None and not self._along.sounds:
            return block
        start_s = 0.0 if stretch is None else (self.frame - self._origin_of(stretch)) / self.rate
        sound = self._along.read(record, start_s, len(block))
        coming = self._sequencer.coming() if record is not None and self._along.wants_next(record) else None
        if coming is not None and coming[0].record is not None:
            self._along.expect(coming[0].record, coming[1])
        if record is not None and record.apart:
            block = np.stack([np.zeros(len(block), np.float32), block.mean(axis=1)], axis=1)
        both: NDArray[np.float32] = np.clip(block + sound, -1.0, 1.0)
        return both

    def _go_on(self, before: PlanStretch) -> None:
        """Enter the next stretch; at a joint, what does not sound on behind it is cut."""
        stretch = self._sequencer.advance()
        if stretch is None:
            self.over = self.frame, self._sequencer.last.order.number
            return
        if stretch.plan.voicing != self._voicing:
            self._synthesiser.cut(self._synthesiser.frame)
            self._fading.append(self._synthesiser)
            self._synthesiser, self._shift = Synthesiser(stretch.plan.voicing, self.rate), self.frame
            self._voicing = stretch.plan.voicing
        elif not before.whole:
            self._synthesiser.cut(self._synthesiser.frame, self._kept(before, stretch))
        self._enter()

    def _kept(self, before: PlanStretch, stretch: PlanStretch) -> dict[tuple[Part, int], int]:
        """Until which frame sounds what has been stopped already, or goes on behind a joint as the same."""
        kept = {}
        coming = stretch.plan.last_before(stretch.from_s - SAME_S)
        for key, pluck in before.plan.last_before(before.to_s - SAME_S).items():
            if pluck.end_s <= before.to_s + SAME_S:
                kept[key] = self._end_of(pluck, before)
            elif key in coming and _is_same(pluck, coming[key]):
                kept[key] = self._end_of(coming[key], stretch)
        return kept

    def _end_of(self, pluck: Pluck, stretch: PlanStretch) -> int:
        """The synthesiser's frame at which a pluck is stopped."""
        start = self._origin_of(stretch) - self._shift + self._frame_of(pluck.start_s)
        return start + self._frame_of(pluck.end_s - pluck.start_s)

    def _enter(self) -> None:
        stretch = self._sequencer.now
        if stretch is not None:
            starts = stretch.plan.plucks
            self._next = bisect_left(starts, stretch.from_s - SAME_S, key=lambda pluck: pluck.start_s)
            self.begun.append((self.frame, stretch))


def _is_same(one: Pluck, other: Pluck) -> bool:
    """Whether two attacks end on the same pitch and sound alike, so that one can go on as the other."""
    cents = [pluck.curve[-1][1] if pluck.curve else 0.0 for pluck in (one, other)]
    return (one.pitch, one.muted) == (other.pitch, other.muted) and abs(cents[0] - cents[1]) < SAME_CENTS
