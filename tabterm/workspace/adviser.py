"""The adviser: works out, beside the keys, what the hand does with the score, and what is wrong with it."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm import collector
from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tabterm.hand.difficulty import Levels
    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.fingering import Fingering
    from tabterm.hand.player import Player
    from tabterm.score.model import Score


PAUSE_S, REST_S = 0.02, 0.15
"""How long the keys must rest before fingers are worked out, so that the screen has shown what was typed, and
before the findings are."""

HELD_S = 0.025
"""How long what is under way waits for a key to be carried out and shown."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What was worked out for one score and player.

    Attributes:
        player: Whose hands it is about.
        asked: The score as it was asked about.
        score: The same with proposed fingers.
        fingering: The hand at each onset of it.
        levels: For each event of each measure, the part of the player's limit that it asks for.
        findings: What is impossible or hard; None until that has been worked out too.
    """

    player: Player
    asked: Score
    score: Score
    fingering: Fingering
    levels: Mapping[int, Levels]
    findings: tuple[Finding, ...] | None = None


def advise(score: Score, player: Player) -> Advice:
    """The fingering of a score, courses as they stand, and its proposals."""
    from tabterm.hand.difficulty import curve
    from tabterm.hand.fingering import fingering
    from tabterm.hand.leisure import give_way
    from tabterm.hand.proposals import carried_out

    solved = fingering(score, player)
    give_way()
    proposed = carried_out(score, solved.unwritten())
    give_way()
    return Advice(player, score, proposed, solved, curve(score, solved))


class Adviser:
    """A thread that answers for the newest score it was asked about, and for no other.

    `answer` is called in that thread: first with the fingering, then again with the findings, unless a newer
    score has been asked about in the meantime; `offer` with the remedies of a finding that help. After a fault in
    the thread `failed` is called, and the fault kept until `take_fault` asks for it; the editor goes on.
    """

    def __init__(
        self,
        answer: Callable[[Advice], None],
        offer: Callable[[Score, Finding, tuple[Remedy, ...]], None],
        failed: Callable[[], None],
    ) -> None:
        """Start the thread; it does not keep the program alive."""
        self._fault: BaseException | None = None
        self._answer = answer
        self._offer = offer
        self._failed = failed
        self._wanted: tuple[Score, Player] | None = None
        self._puzzle: tuple[Score, Player, Finding] | None = None
        self._closed = False
        self._held_until_s = 0.0
        self._settled = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._work, name="adviser", daemon=True)
        self._thread.start()

    def ask(self, score: Score, player: Player) -> None:
        """Ask about a score and a player; what was asked before and is not answered yet is dropped."""
        with self._changed:
            self._wanted = (score, player)
            self._changed.notify()

    def ask_remedies(self, score: Score, player: Player, finding: Finding) -> None:
        """Ask which remedies of a finding help; the score is seen to first."""
        with self._changed:
            self._puzzle = (score, player, finding)
            self._changed.notify()

    def hold(self) -> None:
        """A key is being carried out: wait for it, since two threads of Python are each half as fast."""
        self._held_until_s = time.monotonic() + HELD_S

    def take_fault(self) -> BaseException | None:
        """What went wrong since this was asked last, if anything did."""
        fault, self._fault = self._fault, None
        return fault

    def close(self) -> None:
        """Answer nothing more."""
        with self._changed:
            self._closed = True
            self._changed.notify()

    def _take(self) -> tuple[tuple[Score, Player] | None, tuple[Score, Player, Finding] | None]:
        """Wait for a question: a score, or else a finding; neither when there will be none."""
        with self._changed:
            self._changed.wait_for(lambda: self._closed or self._wanted is not None or self._puzzle is not None)
            wanted, self._wanted = self._wanted, None
            puzzle = None
            if wanted is None:
                puzzle, self._puzzle = self._puzzle, None
            return (None, None) if self._closed else (wanted, puzzle)

    def _is_newest(self) -> bool:
        return self._wanted is None and not self._closed

    def _stays_newest(self, seconds: float) -> bool:
        """Wait so long for a newer score, and tell that none came."""
        with self._changed:
            return not self._changed.wait_for(lambda: self._wanted is not None or self._closed, seconds)

    def _wait(self) -> None:
        while (held_s := self._held_until_s - time.monotonic()) > 0.0:
            time.sleep(held_s)

    def _work(self) -> None:
        from tabterm.hand import leisure

        leisure.wait_by(self._wait)
        while (question := self._take()) != (None, None):
            try:
                self._see_to(*question)
            except Exception as error:  # noqa: BLE001 - advice may fail, the editor must not
                self._fault = error
                if not self._closed:
                    self._failed()

    def _see_to(self, wanted: tuple[Score, Player] | None, puzzle: tuple[Score, Player, Finding] | None) -> None:
        from tabterm.hand.trial import offered

        if wanted is not None and self._stays_newest(PAUSE_S):
            self._advise(*wanted)
        elif puzzle is not None:
            score, player, finding = puzzle
            self._offer(score, finding, offered(score, player, finding))

    def _advise(self, score: Score, player: Player) -> None:
        from tabterm.hand.review import findings

        advice = advise(score, player)
        if self._is_newest():
            self._answer(advice)
        if self._stays_newest(REST_S):
            found = findings(advice.score, player)
            again = advise(advice.score, player)
            if not self._settled:
                self._settled = True
                collector.keep_all()
            if self._is_newest():
                self._answer(replace(again, score=advice.score, findings=found))
