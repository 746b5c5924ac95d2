"""A performance as samples, block by block, and the level at which it is as loud as any other."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.sound.loudness import level_for, measured
from tabterm.sound.synthesiser import AHEAD, AS_IT_IS, RATE, Synthesiser

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from tabterm.performance.model import Part, Performance, Pluck
    from tabterm.sound.synthesiser import Level
    from tabterm.sound.voicing import SoundVoicing

BLOCK = 8192  #: frames; implementation limit
"""Frames rendered at a time."""

TAIL_S = 0.3  #: s; implementation limit
"""After the end every damped string is silent in this time; all parts of a performance have the same length."""

LONG_TURN_S = 30.0  #: s; tuned here
"""What sounds on into the next turn of such a length does not count for its loudness."""


@dataclass(frozen=True, slots=True)
class Rendering:
    """What is rendered.

    Attributes:
        performance: What is played.
        voicing: What it sounds like.
        rate: Frames a second.
        parts: Who is heard; None is everybody.
        turns: How often it is played; every turn after the first begins behind the count-in.
        seamless: Without count-in and TAIL_S: what would die away behind the end is heard at the start instead,
            so that the whole can be played over and over.
    """

    performance: Performance
    voicing: SoundVoicing
    rate: int = RATE  #: frames a second; definition: as played
    parts: Collection[Part] | None = None
    turns: int = 1  #: turns; definition: once
    seamless: bool = False

    @property
    def frames(self) -> int:
        """How many frames `blocks` gives: those of the turns alone, or with count-in and TAIL_S."""
        around_s = 0.0 if self.seamless else self.performance.lead_s + TAIL_S
        return round((around_s + self.turns * self._turn_s) * self.rate)

    @property
    def _turn_s(self) -> float:
        return self.performance.duration_s - self.performance.lead_s

    def blocks(self, level: Level = AS_IT_IS) -> Iterator[NDArray[np.float32]]:
        """The samples at a level, as blocks (frames, 2), until the end and TAIL_S more."""
        rate, last, seamless = self.rate, self.frames, self.seamless
        before = ceil(TAIL_S / self._turn_s) if seamless else 0
        first = -ceil(before * self._turn_s * rate / BLOCK) * BLOCK
        synthesiser = Synthesiser(self.voicing, rate, first=first, period=last if seamless else 0, level=level)
        lead = round(self.performance.lead_s * rate) if seamless else 0
        # Of a period also what has sounded before, and what the limiter sees coming behind its end.
        origins = (
            last * (number // self.turns) + round(number % self.turns * self._turn_s * rate) - lead
            for number in range(-before, self.turns + seamless)
        )

        def until(frame: int) -> Iterator[NDArray[np.float32]]:
            while synthesiser.frame < frame:
                heard = synthesiser.frame >= 0
                block = synthesiser.read(min(BLOCK, last - synthesiser.frame))
                if heard:
                    yield block

        for origin, pluck in self._in_turn(origins):
            begin = origin + round(pluck.start_s * rate)
            if begin >= last + AHEAD:
                break
            yield from until(min(begin, last) - BLOCK + 1)
            synthesiser.play(pluck, origin)
        yield from until(last)

    def _in_turn(self, origins: Iterable[int]) -> Iterator[tuple[int, Pluck]]:
        """The plucks of all turns in order of time, each with the frame from which its times count: its origin."""
        for number, origin in enumerate(origins):
            for pluck in self.performance.plucks:
                counted = not number and not self.seamless
                in_turn = counted or pluck.start_s >= self.performance.lead_s
                if in_turn and (self.parts is None or pluck.part in self.parts):
                    yield origin, pluck

    def level(self, *, limited: bool = True, look: Callable[[], object] = lambda: None) -> Level:
        """The level at which it is as loud as any other file; `look` is called between two blocks.

        A short turn is heard to the end and, with its start behind it, once more; the others are like that one.
        """
        heard = min(self.turns, 1 if self.seamless or self._turn_s > LONG_TURN_S else 2)
        first_s = 0.0 if self.seamless else self.performance.lead_s + (heard - 1) * self._turn_s
        few = Rendering(self.performance, self.voicing, self.rate, self.parts, heard, self.seamless)

        def measure(level: Level) -> tuple[float, float]:
            def looked_at() -> Iterator[NDArray[np.float32]]:
                for block in few.blocks(level):
                    look()
                    yield block

            found = measured(looked_at(), self.rate)
            return found.lufs(again_from_s=first_s, times=self.turns - heard + 1), found.peak_db

        return level_for(measure, limited=limited)
