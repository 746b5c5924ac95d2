"""The history of a document: what can be taken back and made again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tabterm.errors import TabtermError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.workspace.journal import Record


MOST = 10_000
"""Changes that can be undone: about 60 MB (measured here: 6 kB a digit in a measure of eight notes)."""


@dataclass
class History:
    """Changes done and undone, the latest last; of very many the first are forgotten."""

    done: list[Change] = field(default_factory=list)
    undone: list[Change] = field(default_factory=list)
    forgotten: Change | None = None

    @property
    def last(self) -> Change | None:
        """The change that led to where the history stands, even if it can no longer be undone."""
        return self.done[-1] if self.done else self.forgotten

    def copy(self) -> History:
        """Another history of the same changes."""
        return History([*self.done], [*self.undone], self.forgotten)

    def add(self, change: Change) -> None:
        """A new change; what had been taken back is forgotten."""
        self.done.append(change)
        self.undone.clear()
        if len(self.done) > MOST:
            self.forgotten = self.done.pop(0)

    def back(self, score: Score) -> tuple[Score, Change] | None:
        """The score before the last change, and the change that led there; None at the beginning."""
        if not self.done:
            return None
        change = self.done.pop()
        self.undone.append(change)
        return change.inverse.apply(score), change.inverse

    def forward(self, score: Score) -> tuple[Score, Change] | None:
        """The score with the change last taken back; None where there is none."""
        if not self.undone:
            return None
        change = self.undone.pop()
        self.done.append(change)
        return change.apply(score), change

    def repeat(self, kind: str, change: Change) -> bool:
        """Take a change back (`undo`) or make it again (`redo`), if it is the one whose turn it is."""
        one, other = (self.done, self.undone) if kind == "undo" else (self.undone, self.done)
        if not one or one[-1] is not change:
            return False
        other.append(one.pop())
        return True


def replay(score: Score, records: Sequence[Record], history: History) -> Score:
    """Carry records out on a score, keeping the history; raises TabtermError where they do not fit it."""
    for record in records:
        if record.change is not None:
            if record.change.first + len(record.change.removed) > len(score.measures):
                raise TabtermError("the journal does not fit the file")
            score = record.change.apply(score)
            history.add(record.change)
        elif record.kind in {"undo", "redo"}:
            step = history.back(score) if record.kind == "undo" else history.forward(score)
            if step is None:
                raise TabtermError("the journal does not fit the file")
            score = step[0]
    return score


def earlier(records: Sequence[Record]) -> History:
    """The history that records leave behind, without the scores they led through."""
    history = History()
    for record in records:
        if record.change is not None:
            history.add(record.change)
        elif record.kind == "undo" and history.done:
            history.undone.append(history.done.pop())
        elif record.kind == "redo" and history.undone:
            history.done.append(history.undone.pop())
    return history
