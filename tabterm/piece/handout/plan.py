"""How a piece is learnt: a ladder of tempos for each phrase, and what is practised from day to day.

How long a session lasts, how it is filled and how fast new music is added are common practice, no source; how hard
each phrase is for this player comes from `tabterm.hand`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.piece.handout.phrases import HARD

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.piece.handout.phrases import Phrase

START = 0.6
"""A ladder begins at this part of the tempo at which the player's limit is reached, as a drill does."""

EASIEST_START = 80
"""Percent of the written tempo: no ladder begins faster, however easy the phrase is."""

HEADROOM = 0.9
"""A ladder ends at this part of the tempo of the limit at most: what is played at the limit is not yet safe."""

EASY, AT_LIMIT = 0.5, 0.9
"""Parts of the limit: two phrases below the first are a day's work, one beyond the second takes two days."""

CLEAN_TURNS = 3
"""Turns in a row without a slip before the next rung."""

REST_EVERY = 7
"""Every seventh day is free of the piece."""

WARM_UP, DRILL, NEW, JOIN, WHOLE = 3, 5, 10, 5, 10
"""Minutes."""


class Ladder(NamedTuple):
    """The tempos of a phrase in percent, the slowest first; none where the slowest is too fast."""

    rungs: tuple[int, ...]
    safe: bool
    """The last rung is the written tempo, and leaves room below the limit."""


def ladder(limit_percent: float, tempos: Sequence[int]) -> Ladder:
    """The rungs among some tempos for a phrase whose limit lies at a percentage of the written tempo."""
    start = min(START * limit_percent, EASIEST_START)
    top = round(HEADROOM * limit_percent)
    within = [tempo for tempo in sorted(tempos) if tempo <= min(top, 100)]
    below = [tempo for tempo in within if tempo <= start]
    rungs = tuple(tempo for tempo in within if not below or tempo >= below[-1])
    return Ladder(rungs, bool(rungs) and rungs[-1] >= min(100, max(tempos)))


class Task(NamedTuple):
    """Something to do: for how many minutes, and what."""

    minutes: int
    what: str


@dataclass(frozen=True, slots=True)
class Day:
    """A day's practice; no tasks on a day of rest."""

    title: str
    tasks: tuple[Task, ...] = ()

    @property
    def minutes(self) -> int:
        """How long it takes."""
        return sum(task.minutes for task in self.tasks)


def plan(phrases: Sequence[Phrase], tempos: Sequence[int]) -> tuple[Day, ...]:
    """The days from the first phrase to the whole piece at the last tempo that leaves room below the limit."""
    days: list[Day] = []
    for title, tasks in (*_learning(phrases, tempos), *_growing(phrases, tempos)):
        if (len(days) + 1) % REST_EVERY == 0:
            days.append(Day("Rest: leave this piece alone today"))
        days.append(Day(title, (Task(WARM_UP, "Warm up: something slow that you know well."), *tasks)))
    return tuple(days)


def _learning(phrases: Sequence[Phrase], tempos: Sequence[int]) -> list[tuple[str, list[Task]]]:
    """Days on which phrases are new."""
    days: list[tuple[str, list[Task]]] = []
    known: list[Phrase] = []
    for group in _grouped(phrases):
        names = _and(str(phrase.number) for phrase in group)
        title = f"{'Phrases' if len(group) > 1 else 'Phrase'} {names}"
        for turn in range(2 if _weight(group[0]) == 2 else 1):
            tasks = _drills(group) or _drills(known)
            each = NEW if len(group) == 1 else NEW * 3 // 4
            tasks += [Task(each, _new(phrase, tempos, again=turn > 0)) for phrase in group]
            if turn:
                tasks += _joined(known, group)
            elif known:
                tasks.append(Task(JOIN, f"From memory: {_names(known[-2:])}, at a tempo where nothing slips."))
            days.append((f"{title} again" if turn else title, tasks))
        if _weight(group[0]) < 2:
            days[-1][1].extend(_joined(known, group))
        known += group
    return days


def _joined(known: Sequence[Phrase], group: Sequence[Phrase]) -> list[Task]:
    """What is put together when a group has been learnt: the phrases of a section, without a stop."""
    section = [phrase for phrase in (*known, *group) if phrase.section == group[-1].section]
    if len(section) < 2:
        return []
    return [Task(JOIN, f"Join {_names(section)}: slowly, without stopping between them.")]


def _growing(phrases: Sequence[Phrase], tempos: Sequence[int]) -> list[tuple[str, list[Task]]]:
    """Days on which the whole grows faster, up to where its hardest phrase leaves room."""
    hardest = min(phrases, key=lambda phrase: phrase.limit_percent)
    rungs = list(ladder(hardest.limit_percent, tempos).rungs) or [min(tempos)]
    step = 1 if hardest.use > AT_LIMIT else 2 if hardest.use > EASY else len(rungs)
    days = []
    for first in range(0, len(rungs), step):
        part = rungs[first : first + step]
        words = f"The whole piece at {_and(f'{rung}%' for rung in part)}"
        tasks = [
            *_drills(phrases),
            Task(WHOLE, f"{words}: with the solo, then with the backing alone. Mark where you slip."),
            Task(JOIN, "Only the marked places, slowly; then the phrase around each of them."),
        ]
        days.append((words, tasks))
    days[-1][1].append(Task(JOIN, "Play it once for somebody."))
    return days


def _grouped(phrases: Sequence[Phrase]) -> list[list[Phrase]]:
    """Phrases by what a day holds: two neighbours in a section that are easy, or one."""
    groups: list[list[Phrase]] = []
    for phrase in phrases:
        room = groups and len(groups[-1]) == 1 and groups[-1][0].section == phrase.section
        if room and _weight(groups[-1][0]) == _weight(phrase) == 0:
            groups[-1].append(phrase)
        else:
            groups.append([phrase])
    return groups


def _weight(phrase: Phrase) -> int:
    """0: half a day's work; 1: a day's; 2: two days'."""
    return (round(phrase.use, 2) > EASY) + (round(phrase.use, 2) > AT_LIMIT)


def _drills(phrases: Sequence[Phrase]) -> list[Task]:
    """The drill of the hardest passage so far, while the hands are fresh."""
    hard = [(passage.use, phrase) for phrase in phrases for passage in phrase.passages if passage.use >= HARD]
    if not hard:
        return []
    phrase = max(hard, key=lambda each: each[0])[1]
    return [Task(DRILL, f"First, while you are fresh, play the drill of phrase {phrase.number}.")]


def _new(phrase: Phrase, tempos: Sequence[int], *, again: bool) -> str:
    rungs = ladder(phrase.limit_percent, tempos).rungs
    if not rungs:
        return f"Phrase {phrase.number} without the files, as slowly as you need."
    low, high = (rungs[min(1, len(rungs) - 1)], rungs[-1]) if again else (rungs[0], rungs[min(1, len(rungs) - 1)])
    start = f"Phrase {phrase.number} at {low}%" if low == high else f"Phrase {phrase.number} from {low} to {high}%"
    if again:
        return f"{start}, one tempo after another."
    return f"{start}: read it, sing or count it, then play it measure by measure."


def _names(phrases: Sequence[Phrase]) -> str:
    numbers = [str(phrase.number) for phrase in phrases]
    return f"phrase {numbers[0]}" if len(numbers) == 1 else f"phrases {_and(numbers)}"


def _and(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last
