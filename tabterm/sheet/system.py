"""One system: its staves drawn, one under another as near as their signs allow."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.sheet import overhead, rows, signature
from tabterm.sheet.articulation import put_articulations
from tabterm.sheet.extents import words_width
from tabterm.sheet.ink import Glyph, Rule
from tabterm.sheet.joins import Joiner, edges_of, walls_of
from tabterm.sheet.pairs import Pair, chains
from tabterm.sheet.panel import Panel, Spot
from tabterm.sheet.reading import clef_of, source_clef_of
from tabterm.sheet.rhythm import draw_rhythm
from tabterm.sheet.spacing import place, spaced
from tabterm.sheet.staff import StaffDrawer
from tabterm.sheet.tab import TabDrawer, clef

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tabterm.score.model import Score
    from tabterm.sheet.layout import Layout
    from tabterm.sheet.reading import Clef, Reading
    from tabterm.sheet.spacing import Placed, Spaced

STAVES_APART = 2.2
"""Least room between what belongs to two staves; tuned here."""

NEARLY_FULL = 0.93
"""A last system that fills so much of its line as it is gets the whole line; tuned here."""

CLEF_X, CLEF_ROOM, TAB_CLEF_ROOM = 0.7, 3.9, 2.9


@dataclass(slots=True)
class System:
    """A system in staff spaces: its panels with their heights, and how far its ink reaches up and down.

    Attributes:
        measures: Indices of its measures.
        panels: Each with the height of its zero line under the system's.
        top: Of its ink.
        bottom: The same.
        shrink: Size beside the others, less than 1 where one measure is too wide for the line.
        rests: It ends with a rest, or a phrase ends: a page can be turned behind it.
    """

    measures: range
    panels: list[tuple[float, Panel]]
    top: float
    bottom: float
    shrink: float = 1.0
    rests: bool = False


class Engraver:
    """What holds for all systems of a score.

    Args:
        score: With fingers and strokes.
        layout: How it is laid out.
        readings: The measures that are drawn.
        pairs: All ties and slurs, by the measure that they begin in and the one that they end in.
        width: Of a line, in staff spaces.
    """

    def __init__(
        self,
        score: Score,
        layout: Layout,
        readings: Sequence[Reading],
        pairs: Mapping[int, Sequence[Pair]],
        width: float,
    ) -> None:
        self.score, self.layout, self.pairs, self.width = score, layout, pairs, width
        self.clef, self.source_clef = clef_of(score), source_clef_of(score)
        self.measures = [self._spaced(reading) for reading in readings]

    def _spaced(self, reading: Reading) -> Spaced:
        measure, index = reading.measure, reading.index
        done = spaced(reading, self.layout, rows.needs(self.score, index, self.layout))
        done.tail = signature.closing_width(measure)
        done.head = signature.REPEAT_ROOM if measure.repeat_start else 0.0
        done.change = self._change_width(index) if index else 0.0
        return done

    def _change_width(self, index: int) -> float:
        measure, width = self.score.measures[index], 0.0
        if measure.key is not None and self.layout.has_notation:
            width += signature.key_width(self._key_signs(index, self.clef))
        if measure.metre is not None:
            width += signature.metre_width(measure.metre)
        return width

    def _key_signs(self, index: int, clef: Clef) -> list[tuple[str, int]]:
        before = self.score.keys[index - 1] if index else None
        return signature.key_signs(self.score.keys[index], clef, before)

    def room(self, number: int) -> float:
        """Room for the measures of a line that begins with one, without what stands at its beginning."""
        return self.width - self._beginning(number) + self.measures[number].change

    def _beginning(self, number: int) -> float:
        """Width of clef, key and metre at the beginning of a line."""
        index = self.measures[number].reading.index
        names = (words_width(name, rows.NAME_EM, "italic") for name in rows.word_rows(self.layout))
        width = max(TAB_CLEF_ROOM, *names, 0.0)
        if self.layout.has_notation:
            signs = signature.key_signs(self.score.keys[index], self.clef)
            width = max(width, CLEF_ROOM + signature.key_width(signs))
        if number == 0 or self.score.measures[index].metre is not None:
            width += signature.metre_width(self.score.metres[index])
        return width

    # Drawing

    def draw(self, numbers: range, *, last: bool, usual: float) -> System:
        """Draw some measures as a system.

        Args:
            numbers: Of the measures.
            last: It is the last one, and not stretched beyond 70 % of the line.
            usual: How much the other systems are stretched.
        """
        measures = [self.measures[number] for number in numbers]
        measures[0] = replace(measures[0], change=0.0)
        begin, after = self._beginning(numbers.start), self._courtesy(numbers)
        space = self.width - begin - after
        if last:
            natural = sum(measure.at(usual) for measure in measures)
            space = natural if natural < NEARLY_FULL * space else space
        tightest = sum(measure.at(0.0) for measure in measures)
        shrink = min(1.0, self.width / (tightest + begin + after))
        placed = place(measures, begin, max(space, tightest))
        panels = self._panels(numbers, placed, placed[-1].right + after)
        return self._stacked(placed, panels, shrink)

    def _courtesy(self, numbers: range) -> float:
        """Room at the end of a line for a key or metre that changes with the next one."""
        if numbers.stop >= len(self.measures):
            return 0.0
        return self._change_width(self.measures[numbers.stop].reading.index)

    def _panels(self, numbers: range, placed: Sequence[Placed], width: float) -> list[Panel]:
        pairs = self._pairs(placed)
        panels = []
        if self.layout.original and any(each.spaced.reading.source for each in placed):
            drawer = StaffDrawer(Panel(width + 2), source=True)
            self._staff(drawer, numbers, placed, width)
            rows.put_row(drawer.panel, [rows.name_item("original")], above=True, gap=0.4, edge=-0.6)
            panels.append(drawer.panel)
        if self.layout.has_notation:
            drawer = StaffDrawer(Panel(width + 2))
            self._staff(drawer, numbers, placed, width)
            joiner = Joiner(drawer, edges_of(placed), walls_of(placed))
            joiner.ties(pairs)
            joiner.slides(pairs)
            put_articulations(drawer, placed, bends=not self.layout.has_tab)
            joiner.slurs(chains(pairs))
            self._over_staff(drawer.panel, placed)
            panels.append(drawer.panel)
        if self.layout.has_tab:
            panels.append(self._tab(numbers, placed, width, pairs))
        self._overhead(panels[0], numbers, placed, width)
        self._under(panels[-1], placed)
        return panels

    def _pairs(self, placed: Sequence[Placed]) -> list[Pair]:
        found = dict.fromkeys(pair for each in placed for pair in self.pairs.get(each.index, ()))
        return sorted(found, key=lambda pair: pair.start)

    def _staff(self, drawer: StaffDrawer, numbers: range, placed: Sequence[Placed], width: float) -> None:
        panel = drawer.panel
        drawer.lines(0.0, width)
        clef = self.source_clef if drawer.source else self.clef
        panel.put("clef", Glyph(clef.glyph, CLEF_X, float(clef.line)), text=clef.glyph)
        index = placed[0].index
        key = signature.key_signs(self.score.keys[index], clef)
        signature.put_key(panel, key, CLEF_ROOM, Spot(index))
        if numbers.start == 0 or self.score.measures[index].metre is not None:
            x = CLEF_ROOM + signature.key_width(key)
            signature.put_metre(panel, self.score.metres[index], x, Spot(index))
        for each in placed:
            drawer.measure(each)
        self._bars(panel, numbers, placed, (0.0, 4.0), clef)

    def _bars(
        self, panel: Panel, numbers: range, placed: Sequence[Placed], span: tuple[float, float], clef: Clef | None
    ) -> None:
        """Draw bar lines, repeats, and the signs that change inside the line or with the next one."""
        middle = sum(span) / 2
        changes = clef is not None or not self.layout.has_notation
        for each in placed:
            index, measure = each.index, self.score.measures[each.index]
            x = each.left + signature.THIN
            if measure.repeat_start:
                signature.put_repeat(panel, each.left, Spot(index), span)
                x += signature.REPEAT_ROOM
            if each is not placed[0] and changes:
                self._change(panel, index, x + 0.6, middle, clef)
            following = self.score.measures[index + 1] if index + 1 < len(self.score.measures) else None
            begins = following is not None and following.repeat_start and each is not placed[-1]
            if not (begins and not measure.repeat_times):
                signature.put_bar(panel, each.right, measure, Spot(index), span)
        if self._courtesy(numbers) and changes:
            after = self.measures[numbers.stop].reading.index
            self._change(panel, after, placed[-1].right + 0.6, middle, clef)

    def _change(self, panel: Panel, index: int, x: float, middle: float, clef: Clef | None) -> None:
        measure = self.score.measures[index]
        if measure.key is not None and clef is not None:
            signs = self._key_signs(index, clef)
            signature.put_key(panel, signs, x, Spot(index))
            x += signature.key_width(signs)
        if measure.metre is not None:
            signature.put_metre(panel, measure.metre, x, Spot(index), middle)

    def _over_staff(self, panel: Panel, placed: Sequence[Placed]) -> None:
        if self.layout.has_fingers("notation"):
            items = rows.finger_items(placed, aligned=False)
            rows.put_row(panel, items, above=True, gap=0.4, edge=-0.5, aligned=False)
        if not self.layout.has_tab:
            strokes = rows.stroke_items(self.score, placed, self.layout)
            rows.put_row(panel, strokes, above=True, gap=0.4, edge=-0.9)

    def _tab(self, numbers: range, placed: Sequence[Placed], width: float, pairs: Sequence[Pair]) -> Panel:
        drawer = TabDrawer(Panel(width + 2), self.score.head.instrument.course_count)
        panel, bottom = drawer.panel, drawer.bottom
        for each in placed:
            drawer.measure(each)
        drawer.lines(0.0, width)
        panel.put("clef", clef(drawer.courses), text="TAB")
        alone = not self.layout.has_notation
        if alone and (numbers.start == 0 or self.score.measures[placed[0].index].metre is not None):
            index = placed[0].index
            signature.put_metre(panel, self.score.metres[index], TAB_CLEF_ROOM, Spot(index), bottom / 2)
        self._bars(panel, numbers, placed, (0.0, bottom), None)
        if alone:
            for each in placed:
                draw_rhythm(drawer, each)
        drawer.joins(pairs, edges_of(placed), walls_of(placed))
        drawer.marks(placed, articulated=alone)
        if self.layout.has_fingers("tab"):
            items = rows.finger_items(placed, aligned=True)
            rows.put_row(panel, items, above=False, gap=0.5, edge=bottom + 1.2)
        strokes = rows.stroke_items(self.score, placed, self.layout)
        rows.put_row(panel, strokes, above=False, gap=0.6, edge=bottom + 1.0)
        return panel

    def _under(self, panel: Panel, placed: Sequence[Placed]) -> None:
        for name in rows.word_rows(self.layout):
            items = rows.word_items(self.score, placed, name)
            if items:
                rows.put_row(panel, [rows.name_item(name), *items], above=False, gap=0.5, edge=0.0)

    def _overhead(self, panel: Panel, numbers: range, placed: Sequence[Placed], width: float) -> None:
        """Draw what stands over the staves, from the nearest row to the farthest; sections are over all."""
        score, put = self.score, partial(rows.put_row, panel, above=True)
        edge = -1.2
        if "chord" in self.layout.shown:
            edge = put(rows.chord_items(score, placed), gap=0.9, edge=edge)
        put(overhead.number_items(score, placed), gap=0.5, edge=-0.8)
        edge = min(edge, put(overhead.ending_items(score, placed), gap=0.6, edge=-1.4))
        if "remark" in self.layout.shown:
            put(overhead.remark_items(score, placed, width), gap=0.7, edge=edge - 0.4, aligned=False)
        heads = overhead.heading_items(score, placed, width, first=numbers.start == 0)
        put(heads, gap=0.8, edge=edge - 0.6)

    def _stacked(self, placed: Sequence[Placed], panels: Sequence[Panel], shrink: float) -> System:
        heights, y = [0.0], 0.0
        for above, below in pairwise(panels):
            y += above.skyline.below(below.skyline) + STAVES_APART
            heights.append(y)
        if len(panels) > 1:
            bottom = y + ((self.score.head.instrument.course_count - 1) * 1.5 if self.layout.has_tab else 4.0)
            panels[0].put("system", Rule((((0.0, 0.0), (0.0, bottom)),), 0.16), solid=False)
        stacked = list(zip(heights, panels, strict=True))
        top = min(height + panel.extent[0] for height, panel in stacked)
        low = max(height + panel.extent[1] for height, panel in stacked)
        indices = range(placed[0].index, placed[-1].index + 1)
        last = self.score.measures[indices[-1]]
        rests = last.events[-1].is_rest or bool(last.repeat_times)
        return System(indices, stacked, top, low, shrink, rests=rests)
