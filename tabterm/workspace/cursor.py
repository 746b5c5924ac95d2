"""The cursor: a place and a row; the row says what a key writes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.page.rows import COURSE
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.page.rows import Row
    from tabterm.score.model import Score


START = Place(0)


@dataclass(frozen=True, slots=True)
class Cursor:
    """Where the next key writes.

    Attributes:
        place: The moment.
        row: The kind of row.
        course: The course it stands on, or, on another row, the one it was on last (1 = highest).
    """

    place: Place = START
    row: Row = COURSE
    course: int = 1

    def at(self, place: Place) -> Cursor:
        """The same row at another moment."""
        return replace(self, place=place)

    def on(self, row: Row, course: int | None = None) -> Cursor:
        """The same moment on another row."""
        return replace(self, row=row, course=self.course if course is None else course)


def stops(score: Score, index: int, step: Fraction) -> list[Fraction]:
    """Offsets of a measure where the cursor stops: the grid of the step, and every event.

    The grid of a pickup is laid from its end, so that the steps fall where they would in a whole measure.
    """
    measure = score.measures[index]
    start = measure.length % step if measure.short and index == 0 else Fraction(0)
    count = int((measure.length - start) / step)
    grid = {start + number * step for number in range(count + 1)} - {measure.length}
    return sorted({Fraction(0), *grid, *measure.onsets})


def to_right(score: Score, place: Place, step: Fraction) -> Place:
    """The next stop; at the end of the score, the place after the last measure."""
    if place.measure >= len(score.measures):
        return place
    later = [offset for offset in stops(score, place.measure, step) if offset > place.offset]
    return Place(place.measure, later[0]) if later else Place(place.measure + 1)


def to_left(score: Score, place: Place, step: Fraction) -> Place:
    """The stop before; the start of the score stays."""
    if place.measure < len(score.measures):
        earlier = [offset for offset in stops(score, place.measure, step) if offset < place.offset]
        if earlier:
            return Place(place.measure, earlier[-1])
    if place.measure == 0:
        return Place(0)
    return Place(place.measure - 1, stops(score, place.measure - 1, step)[-1])


def up(cursor: Cursor, rows: tuple[Row, ...]) -> Cursor:
    """One row up among the rows that can be stood on and are shown."""
    if cursor.row is COURSE and cursor.course > 1:
        return cursor.on(COURSE, cursor.course - 1)
    index = rows.index(cursor.row)
    return cursor if index == 0 else cursor.on(rows[index - 1])


def down(cursor: Cursor, rows: tuple[Row, ...], course_count: int) -> Cursor:
    """One row down among the rows that can be stood on and are shown."""
    if cursor.row is COURSE and cursor.course < course_count:
        return cursor.on(COURSE, cursor.course + 1)
    index = rows.index(cursor.row)
    return cursor if index == len(rows) - 1 else cursor.on(rows[index + 1])


def kept_inside(score: Score, cursor: Cursor) -> Cursor:
    """The cursor, moved back onto the score where a change has left it outside.

    The place right after the last measure is inside: writing there adds a measure.
    """
    count, place = len(score.measures), cursor.place
    course = min(cursor.course, score.head.instrument.course_count)
    if place.measure >= count:
        place = Place(count)
    elif place.offset >= score.measures[place.measure].length:
        place = Place(place.measure, score.measures[place.measure].onsets[-1])
    return Cursor(place, cursor.row, course)
