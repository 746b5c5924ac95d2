"""The staff of five lines: heads, stems, beams, flags, accidentals, dots, rests, grace notes and tuplets."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.duration import TUPLETS
from tabterm.sheet import fonts
from tabterm.sheet.beams import STEM, bars, beamed_stems, single_stem, tremolo_from
from tabterm.sheet.extents import ACCIDENTALS, DOT, DOT_GAP, HEAD, RESTS, SMALL, dots_x, head_glyph, head_width
from tabterm.sheet.ink import Glyph, Group, Rule, Shape
from tabterm.sheet.panel import Panel, Spot

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.sheet.beams import Stem
    from tabterm.sheet.extents import Grace
    from tabterm.sheet.pairs import Place
    from tabterm.sheet.reading import Chord, Head
    from tabterm.sheet.spacing import Placed

LINE, LEDGER, LEDGER_OUT = 0.13, 0.16, 0.4
"""Thickness of staff and ledger lines, and how far the latter stand out (Bravura 1.392, `engravingDefaults`)."""

FLAGS = {1: "flag8th", 2: "flag16th", 3: "flag32nd", 4: "flag64th", 5: "flag128th", 6: "flag256th"}


class HeadAt(NamedTuple):
    """A notehead on the staff: its sides, its height, which way its stem goes.

    Attributes:
        begin: Where its chord's accidentals begin.
        first: Where all that belongs to its chord begins, but for grace notes.
        outer: Where its grace notes begin.
        free: Where its chord's heads and dots end.
        clear: Where its flag ends, too.
    """

    left: float
    right: float
    y: float
    begin: float
    first: float
    outer: float
    free: float
    clear: float
    stem_up: bool
    chord: Chord
    head: Head
    small: bool = False

    @property
    def ledger(self) -> float:
        """How far ledger lines stand out beside it."""
        heads = [self.head] if self.small else self.chord.heads
        return LEDGER_OUT if any(head.has_ledger for head in heads) else 0.0


class StaffDrawer:
    """Draws the chords of a system on one staff, and remembers where the heads are.

    Args:
        panel: What is drawn on; its zero line is the top line of the staff.
        source: The original line is drawn, not the notes that are played.
    """

    def __init__(self, panel: Panel, *, source: bool = False) -> None:
        self.panel = panel
        self.source = source
        self.heads: dict[Place, HeadAt] = {}
        self.stems: dict[tuple[int, int], Stem] = {}

    def lines(self, left: float, right: float) -> None:
        """Draw the five lines."""
        pieces = tuple(((left, float(y)), (right, float(y))) for y in range(5))
        self.panel.put("staff", Rule(pieces, LINE), solid=False)
        self.panel.skyline.add((left, -0.1, right, 4.1))

    def measure(self, placed: Placed) -> None:
        """Draw all that stands in a measure."""
        reading = placed.spaced.reading
        chords = reading.source if self.source else reading.chords
        columns = {column.offset: column for column in placed.spaced.columns}
        for chord in chords:
            x = placed.x[chord.offset]
            if chord.is_rest:
                self._rest(chord, x, placed)
                continue
            self._heads(chord, x)
        by_number = {chord.number: chord for chord in chords}
        for chord in chords:
            if chord.group and chord.number == chord.group[0]:
                self._beamed([by_number[number] for number in chord.group], placed)
            elif chord.has_stem and not chord.group:
                self._alone(chord, placed.x[chord.offset])
        for chord in () if self.source else chords:
            self._graces(chord, placed.x[chord.offset], columns[chord.offset].graces)
        for first, last in reading.source_tuplets if self.source else reading.tuplets:
            self._tuplet(chords[first : last + 1], placed)

    # Notes

    def _heads(self, chord: Chord, x: float) -> None:
        width = head_width(chord)
        dots_taken: set[float] = set()
        for head in chord.heads:
            shift = (HEAD if chord.stem_up else -HEAD) if head.shifted else 0.0
            spot = self._spot(chord, head)
            muted = head.note is not None and head.note.muted
            glyph = Glyph(head_glyph(chord.duration.value, muted=muted), x + shift, head.y)
            self.panel.put("notehead", glyph, spot, head.name)
            if head.accidental:
                sign = Glyph(ACCIDENTALS[head.accidental], x + head.accidental_x, head.y)
                self.panel.put("accidental", sign, spot, head.accidental)
            self._dots(chord, head, x + dots_x(chord), dots_taken, spot)
            course = head.course if head.course is not None else head.step
            where = (chord.measure, chord.number, -1, course)
            left, begin, first, free = x + shift, x - chord.reach, x - chord.left, x + chord.right
            flagged = chord.flags and not chord.group and chord.stem_up
            clear = max(free, x + HEAD + 1.1) if flagged else free
            outer = x - chord.outer
            at = HeadAt(left, left + width, head.y, begin, first, outer, free, clear, chord.stem_up, chord, head)
            self.heads[where] = at
        self._ledgers(chord, x, width)

    def _dots(self, chord: Chord, head: Head, x: float, taken: set[float], spot: Spot) -> None:
        y = head.y - 0.5 if head.step % 2 == 0 else head.y
        if y in taken:
            y = head.y + 0.5 if head.step % 2 == 0 else y
        if y not in taken:
            taken.add(y)
            for number in range(chord.duration.dots):
                self.panel.put("dot", Glyph("augmentationDot", x + number * (DOT + DOT_GAP), y), spot)

    def _ledgers(self, chord: Chord, x: float, width: float) -> None:
        shifted = any(each.shifted and each.has_ledger for each in chord.heads)
        left = x - LEDGER_OUT - (HEAD if shifted and not chord.stem_up else 0.0)
        right = x + width + LEDGER_OUT + (HEAD if shifted and chord.stem_up else 0.0)
        spot = Spot(chord.measure, chord.offset)
        self._ledger_lines(chord.low, left, right, spot)
        if chord.high.has_ledger and not (chord.low.has_ledger and chord.low.step > 9):
            self._ledger_lines(chord.high, left, right, spot)

    def _ledger_lines(self, head: Head, left: float, right: float, spot: Spot) -> None:
        steps = [*range(-2, head.step - 1, -2), *range(10, head.step + 1, 2)]
        for step in steps:
            y = (8 - step) / 2
            self.panel.put("ledger", Rule((((left, y), (right, y)),), LEDGER), spot)

    def _spot(self, chord: Chord, head: Head | None = None) -> Spot:
        return Spot(chord.measure, chord.offset, head.course if head is not None else None)

    # Stems

    def _alone(self, chord: Chord, x: float) -> None:
        stem = single_stem(chord, x)
        self._stem(chord, stem)
        if chord.flags:
            name = FLAGS[chord.flags] + ("Up" if chord.stem_up else "Down")
            self.panel.put("flag", Glyph(name, stem.x - STEM / 2, stem.end), self._spot(chord))

    def _beamed(self, chords: Sequence[Chord], placed: Placed) -> None:
        columns = {column.offset: column for column in placed.spaced.columns}
        graces = (
            []
            if self.source
            else [
                (placed.x[chord.offset] + grace.x, grace.head.y)
                for chord in chords[1:]
                for grace in columns[chord.offset].graces
            ]
        )
        stems = beamed_stems(chords, [placed.x[chord.offset] for chord in chords], graces)
        for chord, stem in zip(chords, stems, strict=True):
            self._stem(chord, stem)
        for bar in bars(chords, stems, up=chords[0].stem_up):
            self.panel.put("beam", bar, self._spot(chords[0]))

    def _stem(self, chord: Chord, stem: Stem) -> None:
        self.stems[chord.measure, chord.number] = stem
        self.panel.put("stem", Rule((((stem.x, stem.start), (stem.x, stem.end)),), STEM), self._spot(chord))
        if chord.event is not None and chord.event.tremolo_shown:
            self._tremolo(chord, stem)

    def _tremolo(self, chord: Chord, stem: Stem) -> None:
        """Three strokes through the stem, between head and beam."""
        way = -1 if chord.stem_up else 1
        bars = chord.flags * (0.75 if chord.group else 1.1) + (0.5 if chord.flags and not chord.group else 0.0)
        y = (tremolo_from(chord) + stem.end - way * bars) / 2
        self.panel.put("tremolo", Glyph("tremolo3", stem.x, y, 0.85), self._spot(chord), "3")

    # Grace notes

    def _graces(self, chord: Chord, x: float, placed: Sequence[Grace]) -> None:
        """Small notes with stems up, one with a struck flag, more under two beams; down where a beam is above."""
        if not placed:
            return
        up = not (chord.stem_up and chord.group and chord.number != chord.group[0])
        way = -1.0 if up else 1.0
        ys = [grace.head.y for grace in placed]
        length = 3.5 * SMALL + (0.3 if len(placed) == 1 else 0.0)
        end = min(*ys, 4.3) - length if up else max(*ys, -0.3) + length
        stems = []
        for number, grace in enumerate(placed):
            left, head, width = x + grace.x, grace.head, HEAD * SMALL
            spot = self._spot(chord, head)
            muted = head.note is not None and head.note.muted
            self.panel.put("grace", Glyph(head_glyph(8, muted=muted), left, head.y, SMALL), spot, head.name)
            self._ledger_lines(head, left - 0.25, left + width + 0.25, spot)
            if head.accidental:
                sign = Glyph(ACCIDENTALS[head.accidental], left + head.accidental_x, head.y, SMALL)
                self.panel.put("accidental", sign, spot, head.accidental)
            stems.append(left + width - STEM / 2 if up else left + STEM / 2)
            line = ((stems[-1], head.y + way * 0.1), (stems[-1], end))
            self.panel.put("stem", Rule((line,), STEM * 0.8), spot)
            right, reach = left + width, left + min(head.accidental_x, 0.0)
            clear = right + (0.75 if up and len(placed) == 1 else 0.0)
            at = HeadAt(left, right, head.y, reach, reach, reach, right, clear, up, chord, head, small=True)
            self.heads[chord.measure, chord.number, number, head.course or 0] = at
        spot = self._spot(chord)
        if len(placed) == 1:
            name = "flag8thUp" if up else "flag8thDown"
            self.panel.put("flag", Glyph(name, stems[0] - STEM / 2, end, SMALL), spot)
            slash = ((stems[0] - 0.5, end - way * 1.35), (stems[0] + 0.7, end - way * 0.45))
            self.panel.put("slash", Rule((slash,), 0.1), spot)
        for level in range(2 if len(placed) > 1 else 0):
            near = end - way * level * 0.5
            top, low = sorted((near, near - way * 0.33))
            corners = ((stems[0], top), (stems[-1], top), (stems[-1], low), (stems[0], low))
            self.panel.put("beam", Shape(corners), spot)

    # Rests and tuplets

    def _rest(self, chord: Chord, x: float, placed: Placed) -> None:
        if chord.whole_rest:
            middle = (placed.left + placed.spaced.head + placed.right) / 2
            self.panel.put("rest", Glyph("restWhole", middle - 0.56, 1.0), self._spot(chord), "1")
            return
        name, y = RESTS[chord.duration.value]
        self.panel.put("rest", Glyph(name, x, y), self._spot(chord), str(chord.duration))
        for number in range(chord.duration.dots):
            at = x + dots_x(chord) + number * (DOT + DOT_GAP)
            self.panel.put("dot", Glyph("augmentationDot", at, 1.5), self._spot(chord))

    def _tuplet(self, chords: Sequence[Chord], placed: Placed) -> None:
        """The number at the beam, or in a bracket where no beam holds just these notes."""
        ratio = chords[0].duration.tuplet
        if ratio is None:
            return
        notes = [chord for chord in chords if chord.heads]
        up = not notes or sum(chord.stem_up for chord in notes) * 2 >= len(notes)
        numbers = tuple(chord.number for chord in chords)
        figures = str(ratio.actual) if ratio in TUPLETS else str(ratio)
        left = placed.x[chords[0].offset]
        right = placed.x[chords[-1].offset] + HEAD
        put_tuplet(
            self.panel, figures, (left, right), self._spot(chords[0]), above=up, bracket=chords[0].group != numbers
        )


def put_tuplet(
    panel: Panel, figures: str, span: tuple[float, float], spot: Spot, *, above: bool, bracket: bool
) -> None:
    """Draw the number of a tuplet outside all that its notes have, with a bracket if it needs one."""
    glyphs = list(_figures(figures))
    width = sum(each[1] for each in glyphs)
    left, right = span
    middle = (left + right) / 2
    if bracket and right - left < width + 1.8:
        left, right = middle - width / 2 - 0.9, middle + width / 2 + 0.9
    own = (left, right) if bracket else (middle - width / 2, middle + width / 2)
    line = panel.skyline.top(*own, 0.0) - 1.1 if above else panel.skyline.bottom(*own, 4.0) + 1.1
    x, parts = middle - width / 2, []
    for name, advance in glyphs:
        parts.append(Glyph(name, x, line + 0.55, 0.8))
        x += advance
    panel.put("tuplet", Group(tuple(parts)), spot, figures)
    if bracket:
        hook = 0.7 if above else -0.7
        inner = width / 2 + 0.3
        pieces = [((left, line + hook), (left, line)), ((right, line), (right, line + hook))]
        pieces += [((left, line), (middle - inner, line)), ((middle + inner, line), (right, line))]
        panel.put("bracket", Group(tuple(Rule((piece,), 0.13) for piece in pieces)), spot)


def _figures(text: str) -> Iterator[tuple[str, float]]:
    for sign in text:
        name = "tupletColon" if sign == ":" else f"tuplet{sign}"
        yield name, fonts.sign_width(name) * 0.8


def x_of(placed: Placed, offset: Fraction) -> float:
    """The middle of what stands at a moment."""
    return placed.x_at(offset) + HEAD / 2
