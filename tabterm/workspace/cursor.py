"""The cursor: a place and a row, which says what a key writes; and all of it in a sentence."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.page.rows import COURSE
from tabterm.page.spoken import REACHED, event_words, marks_words, note_words, step_name
from tabterm.score.kinds import Direction
from tabterm.score.place import Place, count_name, display_number, lead_in

if TYPE_CHECKING:
    from tabterm.page.rows import Row
    from tabterm.score.model import Measure, Score
    from tabterm.workspace.session import Session


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


def to_right(score: Score, place: Place, step: Fraction) -> Place:
    """The next stop; at the end of the score, the place after the last measure.

    The cursor stops on the grid of the step, at every event, and at chords to be confirmed.
    """
    if place.measure >= len(score.measures):
        return place
    measure, start = score.measures[place.measure], _grid_start(score, place.measure, step)
    onsets = _marked(measure)
    behind = bisect_right(onsets, place.offset)
    following = start + ((place.offset - start) // step + 1) * step
    offset = min(following, onsets[behind]) if behind < len(onsets) else following
    return Place(place.measure, offset) if offset < measure.length else Place(place.measure + 1)


def to_left(score: Score, place: Place, step: Fraction) -> Place:
    """The stop before; the start of the score stays."""
    index, offset = place.measure, place.offset
    if index >= len(score.measures) or not offset:
        if not index:
            return Place(0)
        index -= 1
        offset = score.measures[index].length
    onsets, start = _marked(score.measures[index]), _grid_start(score, index, step)
    before = max(start + -((start - offset) // step + 1) * step, Fraction(0))
    return Place(index, max(before, onsets[bisect_left(onsets, offset) - 1]))


def _grid_start(score: Score, index: int, step: Fraction) -> Fraction:
    """Where in a measure the grid begins: in a pickup it ends with the measure, as in a whole one."""
    return score.measures[index].length % step if lead_in(score, index) else Fraction(0)


def _marked(measure: Measure) -> tuple[Fraction, ...]:
    """Where its events begin and, in order, where chords to be confirmed stand."""
    heard = measure.heard_chords
    return tuple(sorted({*measure.onsets, *(mark.offset for mark in heard)})) if heard else measure.onsets


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


PARTS_OF_BEATS = {"&": " and", "e": " e", "a": " a"}
FROM = {Direction.UP: "below", Direction.DOWN: "above"}
OF_NEXT = {"muted": "muted", "grace": "as grace note", "stack": "added to the notes there"}


def sentence(session: Session) -> str:
    """The place, the row, what stands there, what holds of the measure, and what the next key writes.

    So: `m5 beat 2, D course, fret 4, finger 2, down, next eighth`.
    """
    score, cursor = session.score, session.here.cursor
    if cursor.place.measure >= len(score.measures):
        return f"after the end, {_row(score, cursor)}, {_next(session)}"
    parts = [_place(score, cursor), _row(score, cursor), *_standing(session)]
    measure = score.measures[cursor.place.measure]
    parts += [f"chord {mark.symbol}" for mark in measure.chords if mark.offset == cursor.place.offset]
    parts += [
        f"chord {mark.symbol} proposed, {mark.sure}% sure"
        for mark in measure.heard_chords
        if mark.offset == cursor.place.offset
    ]
    if not cursor.place.offset:
        parts += marks_words(measure)
    parts += ["selecting"] if session.here.anchor is not None else []
    parts.append(_next(session))
    return ", ".join(parts)


def _place(score: Score, cursor: Cursor) -> str:
    count = count_name(score, cursor.place)
    number = display_number(score, cursor.place.measure)
    return f"m{number} beat {count[:-1] + PARTS_OF_BEATS[count[-1]] if count[-1] in PARTS_OF_BEATS else count}"


def _row(score: Score, cursor: Cursor) -> str:
    if cursor.row is not COURSE:
        return f"{cursor.row.name} row"
    return f"{score.head.instrument.course_letters()[cursor.course - 1]} course"


def _next(session: Session) -> str:
    """What the next key writes on the row: on a course a note of the step, as far as it has been said already."""
    if session.here.cursor.row is not COURSE:
        return f"next {session.here.cursor.row.takes}"
    pending = session.next_note.pending
    parts = [f"next {step_name(session.next_note.step)}"]
    parts += [REACHED[pending.reached]] if pending.reached in REACHED else []
    parts += [f"slid into from {FROM[pending.slide_in]}"] if pending.slide_in else []
    parts += [word for field, word in OF_NEXT.items() if getattr(pending, field)]
    letters = session.score.head.instrument.course_letters()
    parts += [f"on the {letters[pending.on - 1]} course"] if pending.on else []
    parts += [f"after grace note {note.fret}" for note in pending.graces]
    parts += [f"fret {pending.tens} and more"] if pending.tens else []
    return " ".join(parts)


def _standing(session: Session) -> list[str]:
    """What is played at the cursor, the note on its own course first."""
    score, cursor = session.score, session.here.cursor
    found = session.here.event()
    if found is None:
        return []
    place, event = found
    if event.is_rest:
        return ["rest"]
    begun = [] if place == cursor.place else ["goes on"]
    letters = score.head.instrument.course_letters()
    parts: list[str] = []
    for note in sorted(event.notes, key=lambda each: each.course != cursor.course):
        named = note.course == cursor.course and cursor.row is COURSE
        parts += [*([] if named else [f"{letters[note.course - 1]} course"]), *note_words(note)]
    if cursor.row is COURSE and event.on_course(cursor.course) is None:
        parts.insert(0, "empty")
    return begun + parts + event_words(event)
