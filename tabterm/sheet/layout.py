"""What a sheet is to look like, and what comes of it: pages, and every sign on them with its box."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, NamedTuple

from tabterm.forms import Limits
from tabterm.values import Value

if TYPE_CHECKING:
    from fractions import Fraction

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm; ISO 216, and 8 1/2 by 11 inches."""

SPACE_MM, LARGE_SPACE_MM = 1.6, 2.5
"""Distance of two staff lines: a staff of 6.4 mm, as is usual for one player; of 10 mm for a stand; tuned here."""

ROWS = ("remark", "chord", "finger", "stroke")
"""Rows of the page that a sheet shows unasked."""

Box = tuple[float, float, float, float]
"""Left, top, width and height in mm."""


class Layout(Value):
    """How a sheet is laid out.

    Attributes:
        parts: Notation and tablature, one of them, or a lead sheet: melody and chord symbols.
        large: Large print, to be read from a stand at 1.5 m.
        paper: Size of the paper.
        landscape: The long side is the width.
        margin_mm: On all sides.
        rows: Names of the rows of the page that are printed: `remark`, `chord`, `finger`, `stroke`, `degree` ...
        fingers: Where they stand if both staves are printed: beside the strokes, over the notation, or at both.
        silent_strokes: The strokes of the hand that strike nothing are printed as well, in brackets.
        original: The original line stands over the staff.
        measures: First and last measure by index, both included; None for all.
        excerpt_width_mm: Width of an excerpt, which has no title, no margins and the height that it needs; None
            for pages.
    """

    parts: Literal["both", "tab", "notation", "lead"] = "both"
    large: bool = False
    paper: Literal["a4", "letter"] = "a4"
    landscape: bool = False
    margin_mm: Annotated[float, Limits(ge=5, le=60, allow_inf_nan=False)] = 15.0
    rows: tuple[str, ...] = ROWS
    fingers: Literal["tab", "notation", "both"] = "tab"
    silent_strokes: bool = False
    original: bool = False
    measures: tuple[int, int] | None = None
    excerpt_width_mm: Annotated[float, Limits(ge=60, le=2000, allow_inf_nan=False)] | None = None

    @property
    def shown(self) -> tuple[str, ...]:
        """The rows to print: a lead sheet has no fingers and strokes."""
        if self.parts != "lead":
            return self.rows
        return tuple(row for row in self.rows if row not in {"finger", "stroke"})

    def has_fingers(self, staff: str) -> bool:
        """Whether fingers stand at the `notation` or the `tab`; a staff alone has them."""
        return "finger" in self.shown and (self.parts != "both" or self.fingers in {staff, "both"})

    @property
    def space_mm(self) -> float:
        """Distance of two lines of the staff."""
        return LARGE_SPACE_MM if self.large else SPACE_MM

    @property
    def page_mm(self) -> tuple[float, float]:
        """Width and height of the paper."""
        width, height = PAPERS[self.paper]
        return (height, width) if self.landscape else (width, height)

    @property
    def has_notation(self) -> bool:
        """Whether there is a staff of five lines."""
        return self.parts != "tab"

    @property
    def has_tab(self) -> bool:
        """Whether there is a staff of courses."""
        return self.parts in {"both", "tab"}


class Sign(NamedTuple):
    """One sign on a page.

    Attributes:
        kind: What it is: `digit`, `notehead`, `stroke`, `finger`, `slur` ...
        box: In mm from the page's top left corner.
        measure: Index of its measure in the score.
        onset: Of its moment, in quarters from the measure's start.
        course: The course of its note.
        text: What it says: the fret, the pitch, the stroke, the words.
        hull: Smaller boxes that it fills, where it is curved or slanted; else empty.
    """

    kind: str
    box: Box
    measure: int | None = None
    onset: Fraction | None = None
    course: int | None = None
    text: str = ""
    hull: tuple[Box, ...] = ()


class Page(NamedTuple):
    """One page: its size, a whole SVG document in mm, and the signs on it from top to bottom by systems."""

    width_mm: float
    height_mm: float
    svg: str
    signs: tuple[Sign, ...]


class Sheet(NamedTuple):
    """Pages; and the sections by name, with the index of their page and the distance from its top in mm."""

    title: str
    pages: tuple[Page, ...]
    sections: tuple[tuple[str, int, float], ...]
