"""What the player's own fingers teach: measures where one was set against a proposal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.workspace.document import Document


@dataclass
class Lessons:
    """Measures of a document that have something to teach, until it is learnt."""

    document: Document
    _measures: set[int] = field(default_factory=set)

    def add(self, index: int) -> None:
        """Have a measure learnt from."""
        self._measures.add(index)

    def learn(self) -> int:
        """Learn from the fingers that the player set against a proposal; in how many measures there were such.

        What was learnt holds from the next proposal on, and is kept for other scores.
        """
        from tabterm.hand.learning import learn
        from tabterm.hand.trial import surroundings
        from tabterm.piece import learnt

        score, player = self.document.score, self.document.player
        lessons = sorted(self._measures)
        self._measures.clear()
        if not player.learns:
            return 0
        for index in lessons:
            if index < len(score.measures):
                player = learn(surroundings(score, index)[0], player)
        if player is self.document.player:
            return 0
        learnt.store(player.weights)
        self.document.player = player
        return len(lessons)
