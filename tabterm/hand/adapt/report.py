"""What fitting a line to the neck did to it: one remark a note, and the whole in a sentence."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from tabterm.harmony.differences import octave_words
from tabterm.score.place import describe

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.model import Score
    from tabterm.score.place import Place


class Kind(StrEnum):
    """What was done."""

    WHOLE = "the whole"
    MOVED = "moved"
    DROPPED = "left out"
    REPLACED = "replaced"


@dataclass(frozen=True, slots=True)
class Done:
    """One thing that was done: where (None: to the whole), what kind of thing, and in words what and why."""

    place: Place | None
    kind: Kind
    message: str

    def line(self, score: Score) -> str:
        """As a line of a report."""
        where = f"{describe(score, self.place)}: " if self.place is not None else ""
        return f"{where}{self.message}"


def counted(number: int, word: str) -> str:
    """`1 note`, `2 notes`."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def summary_of(notes: int, instrument: str, whole: int, done: Iterable[Done]) -> str:
    """The whole in a sentence."""
    counts = Counter(each.kind for each in done)
    parts = [f"the whole {octave_words(whole)}"] if whole else []
    parts += [f"{counted(counts[Kind.MOVED], 'note')} in another octave"] if counts[Kind.MOVED] else []
    parts += [f"{counted(counts[Kind.DROPPED], 'note')} left out"] if counts[Kind.DROPPED] else []
    parts += [f"{counted(counts[Kind.REPLACED], 'articulation')} replaced"] if counts[Kind.REPLACED] else []
    return f"{counted(notes, 'note')} fitted to the {instrument}: {', '.join(parts) or 'all as written'}"
