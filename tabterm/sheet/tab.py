"""The staff of courses: digits, and what is drawn beside and between them."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.kinds import BendShape, Direction, Reached
from tabterm.sheet.articulation import amount, arrow, put_mark, put_roll, put_vibrato
from tabterm.sheet.extents import CENTRE, DIGIT, SMALL, SMALL_DIGIT, beside_tab, tab_text, tab_width, words_width
from tabterm.sheet.ink import CAP, Arc, Curve, Glyph, Group, Panel, Rule, Shape, Spot, Words
from tabterm.sheet.staff import LINE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.model import Note
    from tabterm.score.source import Bend
    from tabterm.sheet.reading import Chord, Pair
    from tabterm.sheet.spacing import Placed

GAP = 1.5
"""Distance of two courses in staff spaces: half as far again as lines of notes, so that digits fit between."""

ARC_OVER = 0.5
"""How far above its course an arc begins; tuned here."""

LETTERS = {Reached.HAMMER: "H", Reached.PULL: "P", Reached.SLIDE: "S"}
"""Letters over arcs and slides: common practice, no source."""

BEND_TOP = -1.5
"""Height of a bend's arrow, over the highest course."""

LETTER_EM = 1.45


class DigitAt(NamedTuple):
    """A digit on a course: its sides, and where what belongs to it ends on both sides."""

    left: float
    right: float
    free_left: float
    free_right: float
    y: float
    spot: Spot


Place = tuple[int, int, int, int]


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
                    self._digit(chord, grace.head.note, x + grace.x + CENTRE * SMALL, number)
            for note in chord.event.notes:
                self._digit(chord, note, x + CENTRE, -1)
            if chord.event.roll is not None:
                self._roll(chord, chord.event.roll)

    def _digit(self, chord: Chord, note: Note, middle: float, grace: int) -> None:
        size = DIGIT if grace < 0 else SMALL_DIGIT
        y, width, text = (note.course - 1) * GAP, tab_width(note, size), tab_text(note)
        spot = Spot(chord.measure, chord.offset, note.course)
        words = Words(text, middle - width / 2, y + CAP * size / 2, size, "bold")
        self.panel.put("digit" if grace < 0 else "grace-digit", words, spot, text)
        left, right = middle - width / 2, middle + width / 2
        self._gaps[note.course].append((left - 0.2, right + 0.2))
        side = beside_tab(note, size)
        at = DigitAt(left, right, middle - side.left, middle + side.right, y, spot)
        self.digits[chord.measure, chord.number, grace, note.course] = at
        if note.bend is not None:
            self._bend(note.bend, at)
        self._slides_off(note, at)
        if note.ring:
            arc = Arc((right + 0.2, y + ARC_OVER), (right + 1.6, y + ARC_OVER), 0.4)
            self.panel.put("ring", arc, spot)

    def _slides_off(self, note: Note, at: DigitAt) -> None:
        if note.slide_in is not None:
            rise = 0.45 if note.slide_in is Direction.UP else -0.45
            line = ((at.left - 1.2, at.y + rise), (at.left - 0.25, at.y - rise))
            self.panel.put("slide", Rule((line,), 0.16), at.spot, "in")
        if note.slide_out is not None:
            rise = -0.45 if note.slide_out is Direction.UP else 0.45
            x = at.free_right - 1.25
            line = ((x, at.y - rise), (x + 1.0, at.y + rise))
            self.panel.put("slide", Rule((line,), 0.16), at.spot, "out")

    def _bend(self, bend: Bend, at: DigitAt) -> None:
        """An arrow to over the staff with the amount; back down again where the bend is let down."""
        text = amount(bend)
        y, x0, x1 = at.y, at.right + 0.2, at.right + 1.1
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
        base = self.panel.skyline.top(x1 - width / 2, x1 + width / 2, BEND_TOP) - 0.3
        self.panel.put("bend-amount", Words(text, x1 - width / 2, base, LETTER_EM), at.spot, text)

    def _roll(self, chord: Chord, direction: Direction) -> None:
        """A wavy line before the digits, with an arrow where the stroke goes."""
        event = chord.event
        if event is None:
            return
        top, bottom = ((note.course - 1) * GAP for note in (event.notes[0], event.notes[-1]))
        left = min(self.digits[chord.measure, chord.number, -1, note.course].free_left for note in event.notes)
        put_roll(self.panel, left - 0.75, (top - 0.6, bottom + 0.6), direction, Spot(chord.measure, chord.offset))

    # Between digits

    def joins(self, pairs: Iterable[Pair], edges: tuple[float, float]) -> None:
        """Draw arcs and slides between digits, or to the edge of the system; then their letters."""
        letters: dict[tuple[int, int, float], list[str]] = defaultdict(list)
        for pair in pairs:
            if pair.reached is None:
                continue
            start, end = self.digits.get(pair.start), self.digits.get(pair.end)
            if start is None and end is None:
                continue
            x0 = start.free_right + 0.2 if start else edges[0] - 1.3
            x1 = end.free_left - 0.2 if end else edges[1] - 0.3
            y = (end or start).y  # type: ignore[union-attr]
            spot = Spot(pair.end[0], end.spot.onset, pair.end[3]) if end else start.spot  # type: ignore[union-attr]
            letter = LETTERS[pair.reached]
            if pair.reached is Reached.SLIDE:
                rise = self._slide_rise(pair)
                self.panel.put("slide", Rule((((x0, y + rise), (x1, y - rise)),), 0.16), spot, letter)
                continue
            arc = Arc((x0 - 0.1, y - ARC_OVER), (x1 + 0.1, y - ARC_OVER), -0.45)
            self.panel.put("arc", arc, spot, letter)
            if end is not None:
                letters[pair.end[0], pair.end[1], round((x0 + x1) / 2, 2)].append(letter)
                continue
            letters[pair.start[0], pair.start[1], round((x0 + x1) / 2, 2)].append(letter)
        for (measure, _, middle), words in letters.items():
            text = "/".join(dict.fromkeys(words))
            width = words_width(text, LETTER_EM)
            base = self.panel.skyline.top(middle - width / 2, middle + width / 2, -0.6) - 0.35
            self.panel.put("letter", Words(text, middle - width / 2, base, LETTER_EM), Spot(measure), text)

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

    def _slide_rise(self, pair: Pair) -> float:
        """Half the height of a slide's line: up (positive) to a higher fret."""
        start, end = self.panel_fret(pair.start), self.panel_fret(pair.end)
        return -0.4 if start is not None and end is not None and end < start else 0.4

    def panel_fret(self, place: Place) -> int | None:
        """The fret that stands at a place; None in another system."""
        at = self.digits.get(place)
        if at is None:
            return None
        text = next(
            (mark.text for mark in self.panel.marks if mark.spot == at.spot and mark.kind.endswith("digit")), ""
        )
        return int(text.strip("()")) if text.strip("()").isdigit() else None


def clef(courses: int) -> Glyph | Group:
    """The word TAB over the courses, one letter under another."""
    height = (courses - 1) * GAP
    if courses == 4:
        return Glyph("4stringTabClef", 0.7, height / 2, 1.15)
    size = height / 3
    letters = (
        Words(letter, 0.8, (number + 0.85) * size, size * 1.2, "bold") for number, letter in enumerate("TAB")
    )
    return Group(tuple(letters))
