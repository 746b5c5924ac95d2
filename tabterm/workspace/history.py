"""The history of a document: what can be taken back and made again."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.workspace.records import Record


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
        change = self.done[-1]
        before = change.inverse.apply(score)
        self.undone.append(self.done.pop())
        return before, change.inverse

    def forward(self, score: Score) -> tuple[Score, Change] | None:
        """The score with the change last taken back; None where there is none."""
        if not self.undone:
            return None
        change = self.undone[-1]
        after = change.apply(score)
        self.done.append(self.undone.pop())
        return after, change

    def since(self, saved: Change | None) -> list[Change] | None:
        """The changes done after one of them, or after none; None where it is not among them."""
        if saved is self.forgotten:
            return list(self.done)
        found = [index for index, change in enumerate(self.done) if change is saved]
        return self.done[found[-1] + 1 :] if found else None

    def repeat(self, kind: str, change: Change) -> bool:
        """Undo or redo a change, if it is the one whose turn it is."""
        one, other = (self.done, self.undone) if kind == "undo" else (self.undone, self.done)
        if not one or one[-1] is not change:
            return False
        other.append(one.pop())
        return True


def replay(score: Score, records: Sequence[Record], history: History) -> Score:
    """Carry records out on a score, keeping the history; raises TabtermError where they do not fit it."""
    for record in records:
        if record.kind == "change" and record.change is not None:
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
        if record.kind == "change" and record.change is not None:
            history.add(record.change)
        elif record.kind == "undo" and history.done:
            history.undone.append(history.done.pop())
        elif record.kind == "redo" and history.undone:
            history.done.append(history.undone.pop())
    return history
