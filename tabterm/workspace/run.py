"""A run: something that is played, from the order to its end, with its rungs and turns."""

from __future__ import annotations

from collections import Counter
from dataclasses import field
from time import monotonic
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from datetime import datetime

    from tabterm.piece.practice import Practice
    from tabterm.piece.takes import Take


def _now() -> datetime:
    from datetime import datetime

    return datetime.now().astimezone()


@dataclass
class Run:
    """What is played and how far it has got; no clock but its own beginning, no sound.

    Attributes:
        takes: The music of a turn.
        practice: How it is played.
        rungs: Tempos in percent of the written one; a single one where there is no ladder.
        asked: Turns that were asked for, 0 until stopped; None for what the practice says.
        rung: Number of the rung that sounds.
        ordered: Turns that were ordered on it; 0 until stopped.
        turn: Number of the turn that sounds of those, from 1.
        before: Turns of those that were another ladder's.
        done: Whole turns by the slowest tempo in each, in percent.
        begun: When it was ordered.
        begun_s: The same on the monotonic clock.
        seconds: How long it lasted, once it has ended.
    """

    takes: tuple[Take, ...]
    practice: Practice
    rungs: tuple[float, ...]
    asked: int | None = None
    rung: int = 0
    ordered: int = 1
    turn: int = 1
    before: int = 0
    done: Counter[float] = field(default_factory=Counter)
    begun: datetime = field(default_factory=_now)
    begun_s: float = field(default_factory=monotonic)
    seconds: float = 0.0
    _slowest: float = 0.0

    @property
    def percent(self) -> float:
        """The tempo of the rung that sounds."""
        return self.rungs[self.rung]

    @property
    def again(self) -> bool:
        """It is played more than once."""
        return self.practice.ladder is not None or self.turns_on(self.rung) != 1

    def turns_on(self, rung: int) -> int:
        """Turns wanted on a rung; 0 until stopped, or told to climb."""
        ladder, loop = self.practice.ladder, self.practice.loop
        if ladder is None:
            return int(not loop) if self.asked is None else self.asked
        return 0 if ladder.turns is None or (loop and rung == len(self.rungs) - 1) else ladder.turns

    @property
    def climbs(self) -> bool:
        """Another rung follows by itself."""
        ladder = self.practice.ladder
        return ladder is not None and ladder.turns is not None and self.rung < len(self.rungs) - 1

    def begin(self, rung: int) -> None:
        """Begin on a rung, with the turns wanted there."""
        self.rung, self.turn, self.before = rung, 1, 0
        self.ordered, self._slowest = self.turns_on(rung), self.percent

    @property
    def count(self) -> tuple[int, int]:
        """The turn that sounds, and how many are wanted, as the ladder counts them; 0 until stopped."""
        return self.turn - self.before, self.ordered and self.ordered - self.before

    def count_anew(self) -> None:
        """Forget the turns played: other music begins."""
        self.done = Counter()
        self.begun, self.begun_s = _now(), monotonic()

    def at(self, turn: int) -> None:
        """Note the turn that sounds now; those before it have been played."""
        if turn > self.turn:
            self.done[self._slowest] += turn - self.turn
            self.turn, self._slowest = turn, self.percent

    def finish(self) -> None:
        """Note that all turns ordered have been played."""
        self.at(self.ordered + 1)

    def to(self, practice: Practice, rungs: tuple[float, ...], rung: int) -> None:
        """Go on in another way in the middle of a turn, which counts for the slower of the two tempos.

        Turns are counted on: where there have been more than are wanted now, this one is the last. It is the first
        of another ladder.
        """
        if practice.ladder != self.practice.ladder:
            self.before = self.turn - 1
        self.practice, self.rungs, self.rung = practice, rungs, min(rung, len(rungs) - 1)
        self._slowest = min(self._slowest, self.percent)
        wanted = self.turns_on(self.rung)
        self.ordered = max(self.before + wanted, self.turn) if wanted else 0

    @property
    def reached(self) -> float | None:
        """The fastest tempo at which a whole turn was played, in percent; None where none was."""
        return max(self.done, default=None)
