"""The staff of five lines: heads, stems, beams, flags, accidentals, dots, rests, grace notes and tuplets."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.duration import TUPLETS
from tabterm.sheet.beams import STEM, bars, beamed_stems, single_stem
from tabterm.sheet.extents import ACCIDENTALS, DOT, DOT_GAP, HEAD, SMALL, dots_x, head_glyph, head_width
from tabterm.sheet.ink import Glyph, Group, Panel, Rule, Shape, Spot

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.sheet.beams import Stem
    from tabterm.sheet.extents import Grace
    from tabterm.sheet.reading import Chord, Head
    from tabterm.sheet.spacing import Placed

LINE, LEDGER, LEDGER_OUT = 0.13, 0.16, 0.4
"""Thickness of staff and ledger lines, and how far the latter stand out (Bravura 1.392, `engravingDefaults`)."""

RESTS = {
    1: ("restWhole", 1.0),
    2: ("restHalf", 2.0),
    4: ("restQuarter", 2.0),
    8: ("rest8th", 2.0),
    16: ("rest16th", 2.0),
    32: ("rest32nd", 2.0),
    64: ("rest64th", 2.0),
    128: ("rest128th", 2.0),
    256: ("rest256th", 2.0),
}
"""The sign of each rest, and where its zero point stands on the staff."""

FLAGS = {1: "flag8th", 2: "flag16th", 3: "flag32nd", 4: "flag64th", 5: "flag128th", 6: "flag256th"}


class HeadAt(NamedTuple):
    """A notehead on the staff: its sides, its height, the end of its dots, and which way its stem goes."""

    left: float
    right: float
    y: float
    free: float
    stem_up: bool
    chord: Chord
    small: bool = False


Place = tuple[int, int, int, int]


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
            if not self.source:
                self._graces(chord, x, columns[chord.offset].graces)
        by_number = {chord.number: chord for chord in chords}
        for chord in chords:
            if chord.group and chord.number == chord.group[0]:
                self._beamed([by_number[number] for number in chord.group], placed)
            elif chord.has_stem and not chord.group:
                self._alone(chord, placed.x[chord.offset])
        for first, last in reading.source_tuplets if self.source else reading.tuplets:
            self._tuplet(chords[first : last + 1], placed)

    # Notes

    def _heads(self, chord: Chord, x: float) -> None:
        width = head_width(chord.duration.value)
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
            free = x + shift + width
            if chord.duration.dots:
                free = self._dots(chord, head, x + dots_x(chord), dots_taken, spot)
            course = head.course if head.course is not None else head.step
            where = (chord.measure, chord.number, -1, course)
            self.heads[where] = HeadAt(x + shift, x + shift + width, head.y, free, chord.stem_up, chord)
        self._ledgers(chord, x, width)

    def _dots(self, chord: Chord, head: Head, x: float, taken: set[float], spot: Spot) -> float:
        y = head.y - 0.5 if head.step % 2 == 0 else head.y
        if y in taken:
            y = head.y + 0.5 if head.step % 2 == 0 else y
        if y not in taken:
            taken.add(y)
            for number in range(chord.duration.dots):
                self.panel.put("dot", Glyph("augmentationDot", x + number * (DOT + DOT_GAP), y), spot)
        return x + chord.duration.dots * (DOT + DOT_GAP)

    def _ledgers(self, chord: Chord, x: float, width: float, size: float = 1.0) -> None:
        for head in (chord.low, chord.high) if len(chord.heads) > 1 else (chord.low,):
            shifted = any(each.shifted and (each.step < 0 or each.step > 8) for each in chord.heads)
            out = LEDGER_OUT * size
            left = x - out - (HEAD if shifted and not chord.stem_up else 0.0)
            right = x + width + out + (HEAD if shifted and chord.stem_up else 0.0)
            self._ledger_lines(head, left, right, Spot(chord.measure, chord.offset))

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
        stems = beamed_stems(chords, [placed.x[chord.offset] for chord in chords])
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
        bars = max(0, chord.flags) * 0.75 if chord.group else 0.9 * bool(chord.flags)
        near = (chord.high.y if chord.stem_up else chord.low.y) + way * 0.6
        y = (near + stem.end - way * bars) / 2
        self.panel.put("tremolo", Glyph("tremolo3", stem.x, y, 0.85), self._spot(chord), "3")

    # Grace notes

    def _graces(self, chord: Chord, x: float, placed: Sequence[Grace]) -> None:
        if not placed:
            return
        tops = [grace.head.y for grace in placed]
        many = len(placed) > 1
        end = min(tops) - 3.5 * SMALL
        end = min(end, 2.0)
        for number, grace in enumerate(placed):
            left, head = x + grace.x, grace.head
            spot = self._spot(chord, head)
            muted = head.note is not None and head.note.muted
            self.panel.put("grace", Glyph(head_glyph(8, muted=muted), left, head.y, SMALL), spot, head.name)
            width = HEAD * SMALL
            self._ledger_lines(head, left - 0.25, left + width + 0.25, spot)
            if head.accidental:
                sign = Glyph(ACCIDENTALS[head.accidental], left + head.accidental_x, head.y, SMALL)
                self.panel.put("accidental", sign, spot, head.accidental)
            stem_x = left + width - STEM / 2
            self.panel.put("stem", Rule((((stem_x, head.y - 0.1), (stem_x, end)),), STEM * 0.8), spot)
            if not many:
                self.panel.put("flag", Glyph("flag8thUp", stem_x - STEM / 2, end, SMALL), spot)
                slash = ((stem_x - 0.5, end + 1.35), (stem_x + 0.75, end + 0.45))
                self.panel.put("slash", Rule((slash,), 0.1), spot)
            place = (chord.measure, chord.number, number, head.course or 0)
            self.heads[place] = HeadAt(
                left, left + width, head.y, left + width, stem_up=True, chord=chord, small=True
            )
        if many:
            xs = [x + grace.x + HEAD * SMALL - STEM / 2 for grace in placed]
            for level in range(2):
                top = end + level * 0.5
                corners = ((xs[0], top), (xs[-1], top), (xs[-1], top + 0.33), (xs[0], top + 0.33))
                self.panel.put("beam", Shape(corners), self._spot(chord))

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
    own = (left, right) if bracket else (middle - width / 2, middle + width / 2)
    line = panel.skyline.top(*own, 0.0) - 1.1 if above else panel.skyline.bottom(*own, 4.0) + 1.1
    x = middle - width / 2
    for name, advance in glyphs:
        panel.put("tuplet", Glyph(name, x, line + 0.55, 0.8), spot, figures)
        x += advance
    if bracket:
        hook = 0.7 if above else -0.7
        inner = width / 2 + 0.3
        pieces = [((left, line + hook), (left, line)), ((right, line), (right, line + hook))]
        if middle - inner > left:
            pieces += [((left, line), (middle - inner, line)), ((middle + inner, line), (right, line))]
        panel.put("bracket", Group(tuple(Rule((piece,), 0.13) for piece in pieces)), spot)


def _figures(text: str) -> Iterator[tuple[str, float]]:
    from tabterm.sheet import fonts

    for sign in text:
        name = "tupletColon" if sign == ":" else f"tuplet{sign}"
        yield name, fonts.sign_width(name) * 0.8


def x_of(placed: Placed, offset: Fraction) -> float:
    """The middle of what stands at a moment."""
    return placed.x_at(offset) + HEAD / 2
