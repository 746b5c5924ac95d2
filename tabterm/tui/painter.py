"""Painting a system: from a score, a cursor and a look to lines of cells."""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.page.cells import View, Weight, marks_in_words
from tabterm.page.columns import lay_out
from tabterm.page.rows import COUNT, COURSE, FINGER, ON_SCREEN, REMARK, STROKE
from tabterm.page.signs import course_cells, finger_cell, stroke_cell
from tabterm.score.comparison import differences_in
from tabterm.score.kinds import Barline
from tabterm.score.place import Place, display_number, lead_in
from tabterm.score.query import event_at
from tabterm.tui.canvas import Canvas
from tabterm.tui.systems import all_rows, has_source, rows_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from tabterm.hand.review import Finding
    from tabterm.page.cells import Cells
    from tabterm.page.columns import MeasureColumns, Needs
    from tabterm.page.rows import Row
    from tabterm.score.model import Event, Score
    from tabterm.tui.systems import PlayerRow, System
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session

MARGIN, NARROW_MARGIN, NARROW = 8, 7, 60
"""Cells left of a system, for the names of the rows; those of a screen narrower than so many columns."""

BARS = {Barline.SINGLE: "|", Barline.DOUBLE: "‖", Barline.FINAL: "▐"}
RULE = "_"
"""Between systems: the row of remarks is written on it. It is long, so a character of one byte."""

SILENT = {"(d)": ".", "(u)": "'"}
"""A stroke of the hand that strikes nothing, in a measure with no room for letters: low is down, high is up."""

LIT = 2
"""Cells of a note that are lit at most where the sound is; of every other row it is one."""

PROPOSED = {FINGER: finger_cell, STROKE: stroke_cell}
"""What of a note that was heard stands on these rows, before it is confirmed."""

SIGNS = {"impossible": "!", "hard": "*", "awkward": "<", "remark": "`"}
"""The sign behind a note with a finding, by severity; no mark of a note is one of them."""


@dataclass
class MeasureCells:
    """What stands on the rows of the measures of one score, worked out once for each measure shown."""

    score: Score
    hidden: frozenset[Row] = frozenset()
    courses: dict[int, Mapping[tuple[Fraction, int], str]] = field(default_factory=dict)
    layouts: dict[int, MeasureColumns] = field(default_factory=dict)
    departures: dict[int, frozenset[tuple[Fraction, int | None]]] = field(default_factory=dict)

    @cached_property
    def has_source(self) -> bool:
        """Whether any measure has a source line."""
        return has_source(self.score)

    def layout(self, index: int) -> MeasureColumns:
        """Columns of a measure."""
        if index not in self.layouts:
            self.layouts[index] = lay_out(self.score, index, self._needs(index))
        return self.layouts[index]

    def _needs(self, index: int) -> Needs:
        """Characters that the rows shown want beyond what every measure has room for."""
        view = View(self.score)
        return tuple(
            (offset, sum(len(piece.text) for piece in pieces))
            for row in ON_SCREEN
            if row.widens and row.cells is not None and row not in self.hidden
            for offset, pieces in row.cells(view, index).items()
        )

    def departing(self, index: int) -> frozenset[tuple[Fraction, int | None]]:
        """Offset and pitch of the notes of a measure that depart from the original; None for one left out."""
        if index not in self.departures:
            found = differences_in(self.score, index)
            self.departures[index] = frozenset((each.place.offset, each.played) for each in found)
        return self.departures[index]

    def course_texts(self, index: int) -> Mapping[tuple[Fraction, int], str]:
        """Texts on the courses of a measure, by offset and course."""
        if index not in self.courses:
            self.courses[index] = course_cells(self.score, index)
        return self.courses[index]


def measure_width(cells: MeasureCells, index: int) -> int:
    """Cells that a measure takes, with its repeat dots and its bar line."""
    measure = cells.score.measures[index]
    dots = int(measure.repeat_start) + int(measure.repeat_times > 0)
    return cells.layout(index).width + dots + 1


class Painter:
    """Paints the lines of systems as a session stands; knows where each moment is on its line."""

    def __init__(self, session: Session, look: Look) -> None:
        self.session = session
        self.look = look
        self.cells = MeasureCells(session.score, session.shown.hidden_rows)
        self.findings: Mapping[Place, tuple[Finding, ...]] = {}
        self.playhead: Place | None = None
        self.counted: tuple[str, int] = ("", 0)
        """What has been said of the count-in, and the measure that it leads into."""
        self._drawn_from: tuple[object, ...] = (None, None, None)
        self._row_cells_known: dict[tuple[int, Row], Cells] = {}
        self.room = 100
        """Lines that a system may take."""
        self.width = 0
        """Cells of the screen: words over the last measure of a system may go on to its edge."""
        self._rows_known: tuple[tuple[object, ...], tuple[PlayerRow, ...]] = ((), ())

    @property
    def lights(self) -> dict[Row, Place]:
        """What is lit where the sound is: the beat on the count row, and what sounds on all courses."""
        place, score = self.playhead, self.session.score
        found = None if place is None else event_at(score, place)
        if place is None or found is None:
            return {}
        lead = lead_in(score, place.measure)
        _, beat, _ = score.metres[place.measure].beat_at(place.offset + lead)
        lit = {COUNT: Place(place.measure, max(beat - lead, Fraction(0)))}
        return lit if found[1].is_rest else lit | {COURSE: found[0]}

    def take_score(self) -> None:
        """Look at the score that the session has now."""
        score, hidden = self.session.score, self.session.shown.hidden_rows
        if self.cells.score is not score or self.cells.hidden != hidden:
            self.cells = MeasureCells(score, hidden)

    def rows(self) -> tuple[PlayerRow, ...]:
        """The lines of a system, from top to bottom; where there is no room for all, the least needed give way."""
        session, shown = self.session, self.session.shown
        instrument, row = session.score.head.instrument, session.here.cursor.row
        asked = (shown.hidden_rows, shown.wanted_rows, instrument, self.cells.has_source, self.room, row)
        if self._rows_known[0] != asked:
            self._rows_known = asked, rows_in(session, self.room, self.cells.has_source)
        return self._rows_known[1]

    def left_out(self) -> frozenset[Row]:
        """Rows for which there is no room."""
        rows = all_rows(self.session, self.cells.has_source)
        return frozenset(row for row, _ in rows).difference(row for row, _ in self.rows())

    @property
    def margin(self) -> int:
        """Cells left of a system."""
        return NARROW_MARGIN if self.width < NARROW else MARGIN

    def x_of(self, system: System, place: Place) -> tuple[int, int]:
        """First cell and width of a moment on its system's line."""
        index = place.measure
        if index > system.last:
            return self.margin + system.end, 2
        layout = self.cells.layout(index)
        start = (
            self.margin + system.xs[index - system.first] + int(self.session.score.measures[index].repeat_start)
        )
        column = layout.column_at(place.offset)
        exact = column.offset == place.offset
        return start + layout.x_of(place.offset), max(column.width - 1, 1) if exact else 1

    def edges(self, system: System) -> tuple[int, ...]:
        """Where each moment of a system begins, where it ends, and the cells behind it; from its left end."""
        found = [0]
        for index, x in enumerate(system.xs, system.first):
            start = x + int(self.session.score.measures[index].repeat_start)
            found += [start + column.x for column in self.cells.layout(index).columns]
        return (*found, system.end, system.end + 2)

    def place_at(self, system: System, x: int) -> Place:
        """The moment whose column a cell of a system lies in."""
        index = (
            max((n for n in range(len(system.xs)) if system.xs[n] + self.margin <= x), default=0) + system.first
        )
        start = self.x_of(system, Place(index))[0]
        columns = self.cells.layout(index).columns
        return Place(index, max((c.offset for c in columns if start + c.x <= x), default=Fraction(0)))

    def line(self, system: System, line: PlayerRow) -> Canvas:
        """One line of a system, whatever the screen has room for."""
        row, course = line
        fill = RULE if row is REMARK and not self.session.shown.plain else " "
        canvas = Canvas(max(self.margin + system.end + 2, self.width * (row is REMARK)), self.look.faint, fill)
        self._label(canvas, system, line)
        for index in range(system.first, system.last + 1):
            start = self.margin + system.xs[index - system.first]
            if row is COURSE:
                self._course(canvas, index, course, start)
            elif row is REMARK:
                self._remark(canvas, system, index, start)
            else:
                self._cells(canvas, index, row, start)
        self._overlays(canvas, system, line)
        return canvas

    def _label(self, canvas: Canvas, system: System, line: PlayerRow) -> None:
        row, course = line
        cursor, (said, index) = self.session.here.cursor, self.counted
        here = cursor.row is row and (row is not COURSE or cursor.course == course)
        pen = self.look.chosen if here else self.look.faint
        if row is COURSE:
            letter = self.session.score.head.instrument.course_letters()[course - 1]
            canvas.put(self.margin - 3, letter, pen)
            canvas.put(self.margin - 1, "|", self.look.faint)
        elif row is COUNT and said and index in system:
            canvas.put(0, said[-self.margin + 1 :], self.look.playing)
        elif row is not REMARK:
            canvas.put(0, row.name, pen)

    def _course(self, canvas: Canvas, index: int, course: int, start: int) -> None:
        measure, layout = self.session.score.measures[index], self.cells.layout(index)
        inner = start + int(measure.repeat_start)
        line = " " if self.session.shown.plain else "-"
        canvas.put(start, line * (measure_width(self.cells, index) - 1), self.look.faint)
        dots = ":" if course in self._dotted_courses() else line
        if measure.repeat_start:
            canvas.put(start, dots, self.look.plain)
        for (offset, at_course), text in self.cells.course_texts(index).items():
            if at_course == course:
                pen = self.look.chord if self._departs(index, offset, course) else self.look.note
                end = canvas.put(inner + layout.x_of(offset), text, pen)
                self._sign(canvas, end, Place(index, offset), course)
        self._proposed(canvas, index, course, inner)
        if measure.repeat_times:
            canvas.put(inner + layout.width, dots, self.look.plain)
        bar = BARS[Barline.SINGLE if self.session.shown.plain else measure.barline]
        canvas.put(inner + layout.width + int(measure.repeat_times > 0), bar, self.look.faint)

    def _proposed(self, canvas: Canvas, index: int, course: int, inner: int) -> None:
        """What was heard and is not confirmed, faint and with a `?`, where nothing else stands."""
        for offset, event in self._heard(index):
            note = event.on_course(course)
            if note is not None:
                x, text = inner + self.cells.layout(index).x_of(offset), f"{note.fret}?"
                if not any(character.isdigit() for character in canvas.characters[x : x + len(text)]):
                    canvas.put(x, text, self.look.faint)

    def _heard(self, index: int) -> Iterator[tuple[Fraction, Event]]:
        """What was heard in a measure and is not confirmed, on the neck, as far as that is worked out."""
        measure = self.session.score.measures[index]
        fitted = self.session.proposals.known() if measure.proposes else None
        for offset, source in measure.timed_source() if fitted is not None else ():
            found = event_at(fitted, Place(index, offset)) if fitted and source.proposed else None
            if found is not None and found[0].offset == offset:
                yield offset, found[1]

    def _departs(self, index: int, offset: Fraction, course: int) -> bool:
        departing = self.cells.departing(index)
        if not departing:
            return False
        measure = self.session.score.measures[index]
        note = measure.events[measure.onsets.index(offset)].on_course(course)
        pitch = self.session.score.head.instrument.pitch
        return note is not None and (offset, pitch(note.course, note.fret)) in departing

    def _dotted_courses(self) -> tuple[int, int]:
        middle = self.session.score.head.instrument.course_count // 2
        return middle, middle + 1

    def _sign(self, canvas: Canvas, x: int, place: Place, course: int) -> None:
        for finding in self.findings.get(place, ()):
            if finding.course in {None, course}:
                canvas.put(x, SIGNS[finding.severity.value], self.look.trouble)
                return

    def _cells(self, canvas: Canvas, index: int, row: Row, start: int) -> None:
        """The cells of a row of the table, each piece in the pen of its weight."""
        layout = self.cells.layout(index)
        inner = start + int(self.session.score.measures[index].repeat_start)
        silent: list[tuple[int, str]] = []
        for offset, pieces in self._row_cells(index, row).items():
            x = inner + layout.x_of(offset) - row.lead(pieces[0].text)
            for text, weight in pieces:
                if weight is Weight.SILENT:
                    silent.append((x, text))
                else:
                    x = canvas.put(x, text, getattr(self.look, weight))
        ends = [*(x for x, _ in silent[1:]), inner + layout.width + 1]
        roomy = all(
            end - x > len(text) and canvas.is_blank(x - 1, x + len(text) + 1)
            for (x, text), end in zip(silent, ends, strict=False)
        )
        for x, text in silent:
            if canvas.is_blank(x, x + 1):
                canvas.put(x, text if roomy else SILENT[text], self.look.faint)
        if row in PROPOSED:
            for offset, event in self._heard(index):
                if text := PROPOSED[row](event):
                    x = inner + layout.x_of(offset)
                    if canvas.is_blank(x, x + len(text)):
                        canvas.put(x, text, self.look.faint)

    def _row_cells(self, index: int, row: Row) -> Cells:
        """The cells of a row, worked out once for what they are drawn from."""
        session = self.session
        drawn_from = (session.score, session.hand.advice, session.shown.silent_strokes)
        if any(one is not other for one, other in zip(drawn_from, self._drawn_from, strict=True)):
            self._drawn_from, self._row_cells_known = drawn_from, {}
        known = self._row_cells_known.get((index, row))
        if known is None and row.cells is not None:
            known = row.cells(View(session.score, session.hand.levels, session.shown.silent_strokes), index)
            self._row_cells_known[index, row] = known
        return known or {}

    def _remark(self, canvas: Canvas, system: System, index: int, start: int) -> None:
        number = str(display_number(self.session.score, index))
        if canvas.is_blank(start - 2, start + len(number)):  # else words of a measure before go on over it
            canvas.put(start - 1, number, self.look.faint)
        x = start + len(number) + 1
        room = self._end_of_words(system, index) - x
        ways = marks_in_words(self.session.score.measures[index])
        words = next((words for words in ways if len(words) <= room), ways[-1])
        if words:
            words = words if len(words) <= room else words[: max(room - 1, 0)] + "…"
            canvas.put(x - 1, f" {words} ", self.look.chord)

    def _end_of_words(self, system: System, index: int) -> int:
        """The cell that the words over a measure end before: left of the number of the next one with words."""
        for later in range(index + 1, system.last + 1):
            if any(marks_in_words(self.session.score.measures[later])):
                return self.margin + system.xs[later - system.first] - 2
        return max(self.margin + system.end, self.width)

    def _overlays(self, canvas: Canvas, system: System, line: PlayerRow) -> None:
        """Selection, playhead and cursor."""
        row, course = line
        selected = self.session.here.selection()
        if selected is not None and row is COURSE:
            self._select(canvas, system, selected.start, selected.end)
        lit = self.session.shown.lit
        if lit is not None and row is COURSE:
            self._select(canvas, system, lit.start, lit.end)
        place = self.lights.get(row)
        if place is not None and place.measure in system:
            x = self.x_of(system, place)[0]
            text = self.cells.course_texts(place.measure).get((place.offset, course), "")
            canvas.take_pen(x, x + min(max(len(text), 1), LIT), self.look.playing)
        cursor = self.session.here.cursor
        on_line = cursor.row is row and (row is not COURSE or cursor.course == course)
        if on_line and (cursor.place.measure in system or self._after_end(system)):
            self._cursor(canvas, system)

    def _select(self, canvas: Canvas, system: System, start: Place, end: Place) -> None:
        if end.measure < system.first or start.measure > system.last:
            return
        left = self.x_of(system, start)[0] if start.measure in system else self.margin
        right = self.x_of(system, end)[0] if end.measure in system else self.margin + system.end - 1
        canvas.lay_over(left, right, self.look.selected)

    def _after_end(self, system: System) -> bool:
        last = len(self.session.score.measures) - 1
        return self.session.here.cursor.place.measure > last and system.last == last

    def _cursor(self, canvas: Canvas, system: System) -> None:
        """What has been said about the next note; the cursor itself is the terminal's."""
        x = self.x_of(system, self.session.here.cursor.place)[0]
        canvas.put(x, pending_text(self.session), self.look.note)


def pending_text(session: Session) -> str:
    """What has been said about the next note, as it will stand before its fret."""
    pending = session.next_note.pending
    marks = {"hammer": "h", "pull": "p", "slide": "/"}
    text = marks.get(pending.reached.value, "")
    text += {"up": "^", "down": "_"}[pending.slide_in] if pending.slide_in else ""
    text += "x" if pending.muted else ""
    text += "".join(f"{{{note.fret}}}" for note in pending.graces) + "{" * pending.grace
    if pending.stack:
        letters = session.score.head.instrument.course_letters()
        text += "+" if pending.on is None else f"+{letters[pending.on - 1]}"
    return text + (str(pending.tens // 10) if pending.tens else "")
