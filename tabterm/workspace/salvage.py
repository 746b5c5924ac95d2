"""What can be carried out of a journal that has lost records.

A change holds both sides of the run of measures that it replaces, so that one that comes after a lost one brings
back what that one did to the same measures. Where measures were put in or taken out by a lost record, the place of
a later change is found by what it replaces; a change whose place is not known is passed over.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tabterm.errors import TabtermError
from tabterm.score.query import music
from tabterm.workspace.history import History

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.change import Change
    from tabterm.score.model import Score
    from tabterm.workspace.records import Record


@dataclass
class Salvage:
    """A score on which what is left of a journal is carried out.

    Attributes:
        score: As far as it has come.
        history: The changes that were carried out, where they were.
        done: How many records were carried out.
        passed_over: How many were not.
    """

    score: Score
    history: History = field(default_factory=History)
    done: int = 0
    passed_over: int = 0
    _placed: dict[int, Change] = field(default_factory=dict)

    def carry_out(self, records: Sequence[Record]) -> Salvage:
        """Carry out what fits, and return the salvage itself."""
        for record in records:
            if record.kind == "mark":
                continue
            before = self.score
            try:
                taken = self._change(record) if record.kind == "change" else self._travel(record)
            except TabtermError:
                taken, self.score = False, before
            self.done += taken
            self.passed_over += not taken
        return self

    def _change(self, record: Record) -> bool:
        change = self._place(record)
        if change is None or record.change is None:
            return False
        self.score = change.apply(self.score)
        self.history.add(change)
        self._placed[id(record.change)] = change
        return True

    def _place(self, record: Record) -> Change | None:
        """A change where it belongs now; None where that is not known."""
        change, standing = record.change, self.score.measures
        if change is None:
            return None
        shift = len(standing) - record.measures if record.measures else 0
        places = [change.first] if not shift else [change.first, change.first + shift]
        fitting = [first for first in places if _stands_at(change, first, self.score)]
        if not fitting and not shift and change.first + len(change.removed) <= len(standing):
            fitting = places
        return change.with_(first=fitting[0]) if fitting else None

    def _travel(self, record: Record) -> bool:
        """Undo or redo the change that the record names, where it is the one whose turn it is."""
        back = record.kind == "undo"
        turn = self.history.done if back else self.history.undone
        if record.change is None or not turn or self._placed.get(id(record.change)) is not turn[-1]:
            return False
        step = self.history.back(self.score) if back else self.history.forward(self.score)
        if step is not None:
            self.score = step[0]
        return step is not None


def fits(change: Change, score: Score) -> bool:
    """Whether a change is of a score: what it replaces stands there."""
    return _stands_at(change, change.first, score)


def _stands_at(change: Change, first: int, score: Score) -> bool:
    end = first + len(change.removed)
    return first >= 0 and end <= len(score.measures) and music(change.removed) == music(score.measures[first:end])
