"""Engraving: a score and a layout make a sheet."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.kinds import Break
from tabterm.sheet.breaking import break_costs, systems
from tabterm.sheet.layout import Layout, Page, Sheet
from tabterm.sheet.paging import paged
from tabterm.sheet.pairs import pairs_of
from tabterm.sheet.reading import read
from tabterm.sheet.spacing import stretch_for
from tabterm.sheet.svg import Standing, page_of
from tabterm.sheet.system import Engraver
from tabterm.sheet.title import FOOT_EM, foot_panel, title_panel

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.score.model import Score
    from tabterm.sheet.pairs import Pair
    from tabterm.sheet.panel import Panel
    from tabterm.sheet.reading import Reading
    from tabterm.sheet.system import System

EXCERPT_PAD = 1.0
"""Room around an excerpt in staff spaces, so that no line is cut."""


def engrave(
    score: Score, layout: Layout | None = None, *, progress: Callable[[int, int], None] | None = None
) -> Sheet:
    """Engrave a score with the fingers and strokes that it has; the same input gives the same bytes.

    Args:
        score: With fingers and strokes, set or proposed.
        layout: How it is laid out; None for the usual way.
        progress: Called with the measures that are done and all of them.

    Raises:
        IndexError: `measures` of the layout are none of the score's.
    """
    layout = layout or Layout()
    first, last = layout.measures or (0, len(score.measures) - 1)
    if not 0 <= first <= last < len(score.measures):
        raise IndexError(f"no measures {first} to {last}")
    indices = range(first, last + 1)
    paper = _Paper.of(layout)
    readings = read(score, indices, layout)
    engraver = Engraver(score, layout, readings, _pairs(score, readings), paper.width)
    drawn = _systems(engraver, indices, progress or (lambda _done, _all: None))
    if layout.excerpt_width_mm is not None:
        return _excerpt(score, drawn, paper)
    return _pages(score, drawn, paper)


class _Paper(NamedTuple):
    """Where systems stand, in mm, and the width of a line in staff spaces."""

    size: tuple[float, float]
    margin: float
    space: float

    @classmethod
    def of(cls, layout: Layout) -> _Paper:
        if layout.excerpt_width_mm is not None:
            return cls((layout.excerpt_width_mm, 0.0), layout.space_mm * EXCERPT_PAD, layout.space_mm)
        return cls(layout.page_mm, layout.margin_mm, layout.space_mm)

    @property
    def width(self) -> float:
        return (self.size[0] - 2 * self.margin) / self.space

    @property
    def height(self) -> float:
        """Of what stands over the foot, in staff spaces."""
        return (self.size[1] - 2 * self.margin) / self.space - 3 * FOOT_EM


def _pairs(score: Score, readings: Sequence[Reading]) -> dict[int, list[Pair]]:
    """Ties and slurs by each measure that they touch, but for those of notes that a lead sheet leaves out."""
    chords = [chord for reading in readings for chord in reading.chords]
    drawn = {(chord.measure, chord.number, head.course) for chord in chords for head in chord.heads}
    first, last = readings[0].index, readings[-1].index
    found: dict[int, list[Pair]] = defaultdict(list)
    for pair in pairs_of(score):
        ends = (end for end in (pair.start, pair.end) if end[2] < 0 and first <= end[0] <= last)
        if all((end[0], end[1], end[3]) in drawn for end in ends):
            for index in {pair.start[0], pair.end[0]}:
                found[index].append(pair)
    return found


def _systems(engraver: Engraver, indices: range, progress: Callable[[int, int], None]) -> list[System]:
    score, measures = engraver.score, engraver.measures

    def forced(number: int) -> bool:
        return number + 1 < len(measures) and score.measures[indices[number + 1]].break_before is not None

    ranges = systems(measures, break_costs(score, indices), engraver.room, forced)
    usual, drawn = 1.0, []
    for numbers in ranges:
        last = numbers.stop == len(measures)
        own = measures[numbers.start : numbers.stop]
        if not last:
            usual = stretch_for(own, engraver.room(numbers.start) - own[0].change) or usual
        drawn.append(engraver.draw(numbers, last=last, usual=min(usual, 1.3)))
        progress(numbers.stop, len(measures))
    return drawn


def _excerpt(score: Score, drawn: Sequence[System], paper: _Paper) -> Sheet:
    standing, y = [], EXCERPT_PAD
    for system in drawn:
        y -= system.top * system.shrink
        standing += _standing(system, paper, y)
        y += system.bottom * system.shrink + 2.0
    height = (y - 2.0 + EXCERPT_PAD) * paper.space
    page = page_of(standing, paper.size[0], height, score.head.title)
    return Sheet(score.head.title, (page,), ())


def _standing(system: System, paper: _Paper, y: float) -> list[Standing]:
    """A system on a page; `y` is its zero line under the margin, in staff spaces."""
    space, zero = paper.space * system.shrink, paper.space * y
    top = 0.0 if paper.size[1] == 0 else paper.margin
    return [Standing(panel, paper.margin, top + zero + height * space, space) for height, panel in system.panels]


def _pages(score: Score, drawn: Sequence[System], paper: _Paper) -> Sheet:
    title, title_height = title_panel(score, paper.width)

    def turned(system: System) -> bool:
        return score.measures[system.measures[0]].break_before is Break.PAGE

    placed = paged(drawn, paper.height, title_height, turned)
    pages, sections = list[Page](), list[tuple[str, int, float]]()
    for number, page in enumerate(placed):
        standing = [Standing(title, paper.margin, paper.margin, paper.space)] if number == 0 else []
        for system, y in page:
            standing += _standing(system, paper, y)
        foot: Panel = foot_panel(score.head.title, number + 1, len(placed), paper.width)
        standing.append(Standing(foot, paper.margin, paper.size[1] - paper.margin, paper.space))
        done = page_of(standing, *paper.size, f"{score.head.title}, {number + 1} / {len(placed)}")
        sections += [(sign.text, number, sign.box[1]) for sign in done.signs if sign.kind == "section"]
        pages.append(done)
    return Sheet(score.head.title, tuple(pages), tuple(sections))
