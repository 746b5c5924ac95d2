"""The staff of courses: digits, and what is drawn beside and between them."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.kinds import BendShape, Direction, Reached
from tabterm.sheet.articulation import arrow, put_mark, put_roll, put_vibrato
from tabterm.sheet.extents import (
    CENTRE,
    DIGIT,
    HELD,
    LETTER_EM,
    RING,
    ROLL,
    SLIDE_OFF,
    SMALL,
    SMALL_DIGIT,
    amount,
    beside_tabs,
    tab_text,
    tab_width,
    words_width,
)
from tabterm.sheet.ink import CAP, Arc, Curve, Glyph, Group, Rule, Shape, Words
from tabterm.sheet.joins import spans
from tabterm.sheet.panel import Panel, Spot
from tabterm.sheet.staff import LINE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from tabterm.score.model import Note
    from tabterm.score.source import Bend
    from tabterm.sheet.joins import Walls
    from tabterm.sheet.pairs import Pair, Place
    from tabterm.sheet.reading import Chord
    from tabterm.sheet.spacing import Placed

GAP = 1.5
"""Distance of two courses in staff spaces: half as far again as lines of notes, so that digits fit between."""

ARC_OVER = 0.5
"""How far above its course an arc begins; tuned here."""

LETTERS = {Reached.HAMMER: "H", Reached.PULL: "P", Reached.SLIDE: "S"}
"""Letters over arcs and slides: common practice, no source."""

BEND_TOP = -1.5
"""Height of a bend's arrow, over the highest course."""


class Sides(NamedTuple):
    """Where all that a chord has on the courses begins, its digits begin and end, a ring begins, and all ends."""

    left: float
    inner_left: float
    inner_right: float
    ring: float
    right: float


class DigitAt(NamedTuple):
    """A digit on a course: its fret, the sides of its chord, its height."""

    fret: int
    sides: Sides
    y: float
    spot: Spot


class TabDrawer:
    """Draws the courses of a system; the panel's zero line is the highest course."""

    def __init__(self, panel: Panel, courses: int) -> None:
        self.panel = panel
        self.courses = courses
        self.digits: dict[Place, DigitAt] = {}
        self._gaps: dict[int, list[tuple[float, float]]] = defaultdict(list)

    @property
    def bottom(self) -> float:
        """Height of the lowest course."""
        return (self.courses - 1) * GAP

    def lines(self, left: float, right: float) -> None:
        """Draw the courses, open where a digit stands; digits come first."""
        pieces = []
        for course in range(1, self.courses + 1):
            at, y = left, (course - 1) * GAP
            for start, end in sorted(self._gaps[course]):
                if start > at:
                    pieces.append(((at, y), (start, y)))
                at = max(at, end)
            pieces.append(((at, y), (right, y)))
        self.panel.put("courses", Rule(tuple(pieces), LINE), solid=False)
        self.panel.skyline.add((left, -0.1, right, self.bottom + 0.1))

    def measure(self, placed: Placed) -> None:
        """Draw the digits of a measure."""
        for column in placed.spaced.columns:
            chord = column.chord
            if chord is None or chord.event is None or chord.is_rest:
                continue
            x = placed.x[chord.offset]
            for number, grace in enumerate(column.graces):
                if grace.head.note is not None:
                    self._grace(chord, grace.head.note, x + grace.x + CENTRE * SMALL, number)
            middle, notes = x + CENTRE, chord.event.notes
            sides = self._sides(notes, middle, DIGIT, ROLL if chord.event.roll is not None else 0.0)
            for note in notes:
                self._digit(chord, note, -1, sides)
            if chord.event.roll is not None:
                self._roll(chord, sides.left + 0.65, chord.event.roll)

    def _grace(self, chord: Chord, note: Note, middle: float, number: int) -> None:
        self._digit(chord, note, number, self._sides((note,), middle, SMALL_DIGIT, 0.0))

    @staticmethod
    def _sides(notes: Sequence[Note], middle: float, size: float, roll: float) -> Sides:
        left, right = beside_tabs(notes, size)
        half = max(tab_width(note, size) for note in notes) / 2
        off = SLIDE_OFF if any(note.slide_out for note in notes) else 0.0
        ring = middle + right - off - RING
        return Sides(middle - left - roll, middle - half, middle + half, ring, middle + right)

    def _digit(self, chord: Chord, note: Note, grace: int, sides: Sides) -> None:
        """Draw a digit between the sides of its chord, with what is drawn beside it."""
        size = DIGIT if grace < 0 else SMALL_DIGIT
        y, width, text = (note.course - 1) * GAP, tab_width(note, size), tab_text(note)
        middle = (sides.inner_left + sides.inner_right) / 2
        spot = Spot(chord.measure, chord.offset, note.course)
        left, right = middle - width / 2, middle + width / 2
        words = Words(text, left + (HELD if note.tied else 0.0), y + CAP * size / 2, size, "bold")
        self.panel.put("digit" if grace < 0 else "grace-digit", words, spot, f"({text})" if note.tied else text)
        if note.tied:
            brackets = tuple(
                Curve(((x, y - 0.62), (x + lean, y - 0.4), (x + lean, y + 0.4), (x, y + 0.62)))
                for x, lean in ((left + 0.36, -0.4), (right - 0.36, 0.4))
            )
            self.panel.put("held", Group(brackets), spot)
        self._gaps[note.course].append((left - 0.2, right + 0.2))
        at = DigitAt(note.fret, sides, y, spot)
        self.digits[chord.measure, chord.number, grace, note.course] = at
        if note.bend is not None:
            self._bend(note.bend, at)
        self._slides_off(note, at)
        if note.ring:
            x = sides.ring + 0.2
            self.panel.put("ring", Arc((x, y + ARC_OVER), (x + 1.4, y + ARC_OVER), 0.4), spot)

    def _slides_off(self, note: Note, at: DigitAt) -> None:
        """Draw short lines from and to no particular fret; where a digit is bent as well, beyond the bend."""
        if note.slide_in is not None:
            rise = 0.45 if note.slide_in is Direction.UP else -0.45
            x = at.sides.inner_left - 0.25
            self.panel.put("slide", Rule((((x - 0.95, at.y + rise), (x, at.y - rise)),), 0.16), at.spot, "in")
        if note.slide_out is not None:
            rise = -0.45 if note.slide_out is Direction.UP else 0.45
            x = at.sides.right - 1.25
            self.panel.put("slide", Rule((((x, at.y - rise), (x + 0.95, at.y + rise)),), 0.16), at.spot, "out")

    def _bend(self, bend: Bend, at: DigitAt) -> None:
        """An arrow to over the staff with the amount; back down again where the bend is let down."""
        text = amount(bend)
        y, x0, x1 = at.y, at.sides.inner_right + 0.2, at.sides.inner_right + 1.1
        parts: list[Curve | Shape | Rule] = []
        if bend.shape is BendShape.FALL:
            parts.append(Rule((((x1, y), (x1, BEND_TOP + 0.5)),), 0.14))
        else:
            parts.append(Curve(((x0, y), (x0 + 0.6, y), (x1, y - 0.3), (x1, BEND_TOP + 0.5))))
        parts.append(arrow(x1, BEND_TOP, up=True))
        if bend.shape is not BendShape.RISE:
            x2 = x1 + 1.1
            down = (x1 + 0.25, BEND_TOP + 0.3), (x1 + 0.9, BEND_TOP + 0.3), (x2, y - 1.2), (x2, y - 0.5)
            parts += [Curve(down), arrow(x2, y, up=False)]
        self.panel.put("bend", Group(tuple(parts)), at.spot, text)
        width = words_width(text, LETTER_EM)
        low = Words(text, 0.0, 0.0, LETTER_EM).bounds[3]
        base = self.panel.skyline.top(x1 - width / 2, x1 + width / 2, BEND_TOP) - 0.3 - low
        self.panel.put("bend-amount", Words(text, x1 - width / 2, base, LETTER_EM), at.spot, text)

    def _roll(self, chord: Chord, x: float, direction: Direction) -> None:
        """A wavy line before the digits, with an arrow where the stroke goes."""
        event = chord.event
        if event is not None:
            top, bottom = ((note.course - 1) * GAP for note in (event.notes[0], event.notes[-1]))
            put_roll(self.panel, x, (top - 0.6, bottom + 0.6), direction, Spot(chord.measure, chord.offset))

    # Between digits

    def joins(self, pairs: Iterable[Pair], edges: tuple[float, float], walls: Walls) -> None:
        """Draw arcs and slides between digits, or to the edge of the system; then their letters."""
        letters: dict[tuple[int, Fraction | None, float], list[str]] = defaultdict(list)
        for pair in pairs:
            start, end = self.digits.get(pair.start), self.digits.get(pair.end)
            at = end or start
            if pair.reached is None or at is None:
                continue
            x0 = start.sides.right + 0.15 if start else edges[0]
            x1 = end.sides.left - 0.15 if end else edges[1]
            letter = LETTERS[pair.reached]
            for left, right in spans(pair, x0, x1, walls):
                if pair.reached is Reached.SLIDE:
                    rise = -0.4 if start and end and end.fret < start.fret else 0.4
                    line = ((left, at.y + rise), (right, at.y - rise))
                    self.panel.put("slide", Rule((line,), 0.16), at.spot, letter)
                else:
                    self.panel.put(
                        "arc", Arc((left, at.y - ARC_OVER), (right, at.y - ARC_OVER), -0.45), at.spot, letter
                    )
            if pair.reached is not Reached.SLIDE:
                letters[at.spot.measure or 0, at.spot.onset, round((x0 + x1) / 2, 2)].append(letter)
        for (measure, onset, middle), words in letters.items():
            text = "/".join(dict.fromkeys(words))
            width = words_width(text, LETTER_EM)
            base = self.panel.skyline.top(middle - width / 2, middle + width / 2, -0.6) - 0.35
            self.panel.put("letter", Words(text, middle - width / 2, base, LETTER_EM), Spot(measure, onset), text)

    def marks(self, system: Iterable[Placed], *, articulated: bool) -> None:
        """Draw vibrato, and accents and staccato where no staff has them, over the courses."""
        for placed in system:
            for chord in placed.spaced.reading.chords:
                if chord.event is not None:
                    self._marks(chord, placed.x[chord.offset] + CENTRE, articulated=articulated)

    def _marks(self, chord: Chord, middle: float, *, articulated: bool) -> None:
        event, spot = chord.event, Spot(chord.measure, chord.offset)
        if event is None:
            return
        for note in event.notes:
            if note.vibrato and articulated:
                put_vibrato(self.panel, middle, Spot(chord.measure, chord.offset, note.course))
        for name, sign, there in (
            ("staccato", "articStaccatoAbove", event.staccato),
            ("accent", "articAccentAbove", event.accent),
        ):
            if there and articulated:
                put_mark(self.panel, sign, middle, spot, name, above=True)


def clef(courses: int) -> Glyph | Group:
    """The word TAB over the courses, one letter under another."""
    height = (courses - 1) * GAP
    if courses == 4:
        return Glyph("4stringTabClef", 0.7, height / 2, 1.15)
    size = min(max(height / 3, 0.9), 1.7)
    letters = (
        Words(letter, 0.8, height / 2 + (number - 0.6) * size, size * 1.2, "bold")
        for number, letter in enumerate("TAB")
    )
    return Group(tuple(letters))
