"""What the practice log tells of a piece: its passages, and for each the tempo over the days, as lines of text."""

from __future__ import annotations

import math
from datetime import timedelta
from itertools import groupby
from textwrap import wrap
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.printable import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from tabterm.piece.practice_log import LogEntry

BLOCKS = " ▁▂▃▄▅▆▇█"
"""From an empty cell to a full one."""

ASCII_BLOCKS = " #"
WIDEST_DAY = 5
"""Cells that a day takes at most, with the gap behind it."""

LABEL = 4
"""Cells left of a graph, for a tempo and the axis."""

NOTHING_YET = "nothing practised yet: a loop of 10 seconds or more is logged here when it ends"


@dataclass(frozen=True, slots=True)
class Day:
    """What was done for a passage on one day.

    Attributes:
        day: The day.
        per_minute: The fastest tempo reached, in beats a minute.
        turns: Whole turns.
        seconds: Time spent.
    """

    day: date
    per_minute: float
    turns: int
    seconds: float


@dataclass(frozen=True, slots=True)
class PractisedPassage:
    """A passage and the days on which it was practised, in order; `written` is its tempo as last written."""

    name: str
    days: tuple[Day, ...]
    written: float

    @property
    def best(self) -> float:
        """The fastest tempo ever reached, in beats a minute."""
        return max(day.per_minute for day in self.days)

    @property
    def seconds(self) -> float:
        """Time spent on all days."""
        return sum(day.seconds for day in self.days)

    def __str__(self) -> str:
        words = f"measures {self.name}" if "-" in self.name else f"measure {self.name}"
        days = counted(len(self.days), "day")
        return f"{words}: {self.best:.0f} of {self.written:.0f} a minute, {days}, {in_words(self.seconds)}"


def passages(entries: Iterable[LogEntry]) -> tuple[PractisedPassage, ...]:
    """The passages of a piece, the one practised last first."""
    found: dict[str, list[LogEntry]] = {}
    for entry in sorted(entries, key=lambda each: each.begun):
        found[entry.passage] = [*found.pop(entry.passage, []), entry]
    return tuple(
        PractisedPassage(name, tuple(_days(each)), each[-1].written_per_minute)
        for name, each in reversed(found.items())
    )


def _days(entries: Sequence[LogEntry]) -> Iterable[Day]:
    """Each day by the clock of the place where it was practised; who travels may have them in another order."""
    by_day = sorted(entries, key=lambda entry: entry.begun.date())
    for day, group in groupby(by_day, key=lambda entry: entry.begun.date()):
        done = list(group)
        fastest = max(entry.per_minute for entry in done)
        yield Day(day, fastest, sum(entry.turns for entry in done), sum(entry.seconds for entry in done))


def in_words(seconds: float) -> str:
    """A length of time: `45 s`, `12 min`, `1 h 05 min`."""
    if seconds < 60:
        return f"{seconds:.0f} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02} min" if hours else f"{minutes} min"


def graph(passage: PractisedPassage, width: int, height: int, blocks: str = BLOCKS) -> list[str]:
    """The tempo of a passage over the days: a column a day, dots at the written tempo, days below.

    Args:
        passage: What to draw.
        width: Cells of a line.
        height: Lines, the one with the days included; at least 2.
        blocks: Characters from an empty cell to a full one.
    """
    room, lines = max(width - LABEL, 1), max(height - 1, 1)
    columns = _columns(passage.days, room)
    low, high = _range(passage)
    full = len(blocks) - 1
    levels = [
        0 if value is None else 1 + round((value - low) / (high - low) * (lines * full - 1)) for value in columns
    ]
    goal = lines - 1 - min(int((passage.written - low) / (high - low) * lines), lines - 1)
    drawn = []
    for line in range(lines):
        below = (lines - 1 - line) * full
        cells = [blocks[min(max(level - below, 0), full)] for level in levels]
        if line == goal and low <= passage.written <= high:
            cells = ["." if cell == " " else cell for cell in cells]
        drawn.append(f"{_label(line, lines, goal, (low, high, passage.written)):>3}|{''.join(cells)}".rstrip())
    return [*drawn, _axis(passage.days, min(room, max(len(columns), 21)))]


def _columns(days: Sequence[Day], room: int) -> list[float | None]:
    """A value for each cell; a day takes several where there is room, and shares one where there is not."""
    first, last = days[0].day, days[-1].day
    count = (last - first) // timedelta(days=1) + 1
    cells = min(room // count, WIDEST_DAY)
    days_a_cell = 1 if cells else math.ceil(count / room)
    best: dict[int, float] = {}
    for day in days:
        number = (day.day - first).days // days_a_cell
        best[number] = max(best.get(number, 0.0), day.per_minute)
    columns: list[float | None] = []
    for number in range(math.ceil(count / days_a_cell)):
        columns += [best.get(number)] * max(cells - 1, 1) + [None] * (cells > 1)
    return columns


def _range(passage: PractisedPassage) -> tuple[float, float]:
    """The tempos at the foot and at the top: fives round what was reached, the written tempo inside."""
    lowest = min(day.per_minute for day in passage.days)
    low = 5 * math.floor((lowest - 1) / 5)
    return low, max(5 * math.ceil(max(passage.best, passage.written) / 5), low + 10)


def _label(line: int, lines: int, goal: int, tempos: tuple[float, float, float]) -> str:
    low, high, written = tempos
    if line == goal and low <= written <= high:
        return f"{written:.0f}"
    if line == 0:
        return f"{high:.0f}"
    return f"{low:.0f}" if line == lines - 1 else ""


def _axis(days: Sequence[Day], width: int) -> str:
    first, last = f"{days[0].day:%Y-%m-%d}", f"{days[-1].day:%Y-%m-%d}"
    if first == last or width < 2 * len(first) + 1:
        return f"{'':{LABEL}}{last}"
    return f"{'':{LABEL}}{first}{last:>{width - len(first)}}"


def page(title: str, found: Sequence[PractisedPassage], chosen: int, width: int, height: int) -> list[str]:
    """A page of so many lines: the piece, its passages round the one chosen, and the graph of that one."""
    if not found:
        return [title[:width], "", *wrap(NOTHING_YET, width)]
    seconds = sum(passage.seconds for passage in found)
    rows = min(len(found), max((height - 2) // 3, 1))
    top = min(max(chosen - rows // 2, 0), len(found) - rows)
    listed = [f"{'>' if number == chosen else ' '} {found[number]}"[:width] for number in range(top, top + rows)]
    head = f"{title}: {counted(len(found), 'passage')}, {in_words(seconds)}"
    return [head[:width], *listed, "", *graph(found[chosen], width, max(height - 2 - rows, 2))]


def words(passage: PractisedPassage) -> list[str]:
    """A passage's days in words, for who cannot see a graph."""
    return [
        f"{day.day:%Y-%m-%d}: {day.per_minute:.0f} a minute, {day.turns} turns, {in_words(day.seconds)}"
        for day in passage.days
    ]
