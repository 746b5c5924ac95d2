"""Which rows a system has, and packing measures into systems of the screen's width; plain numbers, no screen."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.page.rows import COURSE, GIVE_WAY, ON_SCREEN, SOURCE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tabterm.page.rows import Row
    from tabterm.score.model import Score
    from tabterm.workspace.session import Session

PlayerRow = tuple["Row", int]
"""A line of a system: its row and, on course rows, the course."""


@dataclass(frozen=True, slots=True)
class System:
    """A row of measures.

    Attributes:
        first: Index of its first measure.
        xs: Where each measure begins, in cells from the left end of the system.
        end: Where the last one ends.
    """

    first: int
    xs: tuple[int, ...]
    end: int

    @property
    def last(self) -> int:
        """Index of its last measure."""
        return self.first + len(self.xs) - 1

    def __contains__(self, index: int) -> bool:
        return self.first <= index <= self.last


def pack(width_of: Callable[[int], int], first: int, count: int, room: int) -> Iterator[System]:
    """Systems of the measures from `first` up to `count`, each as full as fits; worked out as they are asked for.

    A measure that is wider than the room has a system of its own.
    """
    xs: list[int] = []
    x = 0
    for index in range(first, count):
        width = width_of(index)
        if xs and x + width > room:
            yield System(first, tuple(xs), x)
            first, xs, x = index, [], 0
        xs.append(x)
        x += width
    if xs:
        yield System(first, tuple(xs), x)


def window(edges: Sequence[int], x: int, room: int) -> tuple[int, int]:
    """Which cells of a line wider than the room are shown: from one up to another, whole moments only.

    Args:
        edges: Where each moment begins, and where the line ends, in order.
        x: A cell that must be shown.
        room: How many cells there is room for.
    """

    def end(start: int) -> int:
        return max((edge for edge in edges if start < edge <= start + room), default=start + room)

    wanted = (x - room // 2) // 8 * 8
    starts = [edge for edge in edges if edge <= x < end(edge)] or [x]
    start = 0 if x < end(0) else min(starts, key=lambda edge: abs(edge - wanted))
    return start, end(start)


class Packing:
    """The systems of a score, packed only as far as anybody has looked."""

    def __init__(self, width_of: Callable[[int], int], count: int, room: int, kept: Sequence[System] = ()) -> None:
        """Go on behind the systems `kept` from an earlier packing."""
        self.systems = list(kept)
        first = self.systems[-1].last + 1 if self.systems else 0
        self._more = pack(width_of, first, count, room)

    def number_of(self, index: int) -> int:
        """The number of the system that a measure is on; past the end of the score, the last."""
        while not self.systems or self.systems[-1].last < index:
            system = next(self._more, None)
            if system is None:
                break
            self.systems.append(system)
        return max(bisect_right(self.systems, index, key=lambda system: system.first) - 1, 0)

    def get(self, number: int) -> System | None:
        """A system by its number, or None behind the last."""
        while len(self.systems) <= number:
            system = next(self._more, None)
            if system is None:
                return None
            self.systems.append(system)
        return self.systems[number]

    def shown(self, top: int, count: int) -> list[System]:
        """At most `count` systems from one on."""
        return [system for number in range(top, top + count) if (system := self.get(number)) is not None]

    def before(self, index: int) -> list[System]:
        """The systems that a change of the measure at `index` leaves as they are."""
        return [system for system in self.systems if system.last < index - 1]


def has_source(score: Score) -> bool:
    """Whether any measure has a source line."""
    return any(measure.source for measure in score.measures)


def rows_in(session: Session, room: int, with_source: bool) -> tuple[PlayerRow, ...]:
    """The lines of a system where there are so many for all systems; those that are needed least give way."""
    rows = all_rows(session, with_source)
    for row in GIVE_WAY:
        spare = row.spare and row not in session.shown.wanted_rows
        in_the_way = spare and room // (len(rows) - 1) > room // len(rows)
        if (in_the_way or len(rows) > room) and row is not session.here.cursor.row:
            rows = tuple(each for each in rows if each[0] is not row)
    return rows


def all_rows(session: Session, with_source: bool) -> tuple[PlayerRow, ...]:
    """The lines of a system that has room for all that are shown."""
    lines: list[PlayerRow] = []
    for row in ON_SCREEN:
        if row is COURSE:
            lines.extend((row, course) for course in range(1, session.score.head.instrument.course_count + 1))
        elif row not in session.shown.hidden_rows and (row is not SOURCE or with_source):
            lines.append((row, 0))
    return tuple(lines)
