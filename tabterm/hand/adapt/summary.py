"""What fitting a line to the neck did to it, in a sentence."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from tabterm.harmony.differences import octave_words
from tabterm.score.report import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.report import Remark


def counted(number: int, word: str) -> str:
    """`1 note`, `2 notes`."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def summary_of(notes: int, instrument: str, whole: int, done: Iterable[Remark]) -> str:
    """The whole in a sentence."""
    counts = Counter(each.kind for each in done)
    parts = [f"the whole {octave_words(whole)}"] if whole else []
    parts += [f"{counted(counts[Kind.MOVED], 'note')} in another octave"] if counts[Kind.MOVED] else []
    parts += [f"{counted(counts[Kind.LEFT_OUT], 'note')} left out"] if counts[Kind.LEFT_OUT] else []
    parts += [f"{counted(counts[Kind.CHANGED], 'articulation')} replaced"] if counts[Kind.CHANGED] else []
    return f"{counted(notes, 'note')} fitted to the {instrument}: {', '.join(parts) or 'all as written'}"
