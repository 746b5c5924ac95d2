"""Ink: what can be drawn, each with its box, and the skyline that says where there is room for more.

All lengths are staff spaces (the distance of two lines of the staff) until a page is made; y grows downward.
"""

from __future__ import annotations

from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.sheet import fonts

if TYPE_CHECKING:
    from tabterm.sheet.fonts import Style

Bounds = tuple[float, float, float, float]
"""Left, top, right, bottom."""

Point = tuple[float, float]

CAP, DESCENT = 0.67, 0.24
"""Height of capitals, and depth below the line, of the text font in ems; measured here."""


class Onto(NamedTuple):
    """Where a panel stands on a page: its zero point and a staff space, in mm."""

    x: float
    y: float
    space: float

    def place(self, x: float, y: float) -> str:
        """A point as two numbers."""
        return f"{self.x + x * self.space:.3f} {self.y + y * self.space:.3f}"


class Glyph(NamedTuple):
    """A sign of the music font, its zero point at (x, y)."""

    name: str
    x: float
    y: float
    size: float = 1.0

    @property
    def bounds(self) -> Bounds:
        """Its box."""
        left, top, right, bottom = fonts.sign_box(self.name)
        x, y, size = self.x, self.y, self.size
        return x + left * size, y + top * size, x + right * size, y + bottom * size

    @property
    def hull(self) -> tuple[Bounds, ...]:
        """Boxes of its ink where it leaves much of its own free: of flags and accidentals."""
        if not self.name.startswith(("flag", "accidental")):
            return ()
        x, y, size = self.x, self.y, self.size
        return tuple(
            (x + left * size, y + top * size, x + right * size, y + bottom * size)
            for left, top, right, bottom in fonts.sign_bands(self.name)
        )

    def svg(self, onto: Onto, kind: str) -> str:
        """As an element of SVG."""
        where = f"translate({onto.place(self.x, self.y)}) scale({onto.space * self.size:.4f})"
        return f'<use class="{kind}" href="#{self.name}" transform="{where}"/>'


class Words(NamedTuple):
    """Text on one line that begins at x, with its base line at y; `size` is the em."""

    text: str
    x: float
    y: float
    size: float
    style: Style = "regular"

    @property
    def width(self) -> float:
        """How wide it is."""
        return fonts.width_mm(self.text, self.size, self.style)

    @property
    def bounds(self) -> Bounds:
        """Its box: figures and capitals reach no lower than the base line."""
        low = (
            0.0
            if all(
                sign.isnumeric() or (sign.isupper() and sign not in "JQ") or sign == "\N{MULTIPLICATION SIGN}"
                for sign in self.text
            )
            else DESCENT
        )
        return self.x, self.y - CAP * self.size, self.x + self.width, self.y + low * self.size

    def svg(self, onto: Onto, kind: str) -> str:
        """As an element of SVG."""
        weight = ' font-weight="bold"' if self.style == "bold" else ""
        slant = ' font-style="italic"' if self.style == "italic" else ""
        x, y = onto.place(self.x, self.y).split()
        size = f"{self.size * onto.space:.3f}"
        return f'<text class="{kind}" x="{x}" y="{y}" font-size="{size}"{weight}{slant}>{escape(self.text)}</text>'


class Rule(NamedTuple):
    """A straight line of a thickness, perhaps of several pieces."""

    pieces: tuple[tuple[Point, Point], ...]
    thickness: float

    @property
    def bounds(self) -> Bounds:
        """Its box."""
        half = self.thickness / 2
        xs = [point[0] for piece in self.pieces for point in piece]
        ys = [point[1] for piece in self.pieces for point in piece]
        return min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half

    @property
    def hull(self) -> tuple[Bounds, ...]:
        """Boxes along its pieces, six for a slanted one; none where all are upright or level."""
        if all(x0 == x1 or y0 == y1 for (x0, y0), (x1, y1) in self.pieces):
            return ()
        half, boxes = self.thickness / 2, []
        for (x0, y0), (x1, y1) in self.pieces:
            parts = 1 if x0 == x1 or y0 == y1 else 6
            cuts = [(x0 + (x1 - x0) * at / parts, y0 + (y1 - y0) * at / parts) for at in range(parts + 1)]
            boxes += [
                (min(a[0], b[0]) - half, min(a[1], b[1]) - half, max(a[0], b[0]) + half, max(a[1], b[1]) + half)
                for a, b in pairwise(cuts)
            ]
        return tuple(boxes)

    def svg(self, onto: Onto, kind: str) -> str:
        """As an element of SVG."""
        path = "".join(f"M{onto.place(*start)}L{onto.place(*end)}" for start, end in self.pieces)
        width = f"{self.thickness * onto.space:.3f}"
        return f'<path class="{kind}" d="{path}" fill="none" stroke="currentColor" stroke-width="{width}"/>'


class Shape(NamedTuple):
    """A filled polygon."""

    points: tuple[Point, ...]

    @property
    def bounds(self) -> Bounds:
        """Its box."""
        xs, ys = zip(*self.points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def hull(self) -> tuple[Bounds, ...]:
        """A slanted bar (left top, right top, right bottom, left bottom) in six boxes; none of another shape."""
        if len(self.points) != 4:
            return ()
        (x0, top0), (x1, top1), (_, bottom1), (_, bottom0) = self.points

        def at(part: float) -> tuple[float, float, float]:
            return x0 + (x1 - x0) * part, top0 + (top1 - top0) * part, bottom0 + (bottom1 - bottom0) * part

        cuts = [at(number / 6) for number in range(7)]
        return tuple((a[0], min(a[1], b[1]), b[0], max(a[2], b[2])) for a, b in pairwise(cuts))

    def svg(self, onto: Onto, kind: str) -> str:
        """As an element of SVG."""
        return f'<path class="{kind}" d="M{"L".join(onto.place(*point) for point in self.points)}Z"/>'


class Arc(NamedTuple):
    """A tie or a slur: from one point to another, thick in the middle, as high as `rise` (up if negative)."""

    start: Point
    end: Point
    rise: float

    def at(self, part: float) -> Point:
        """A point of its outer side, by the part of the way."""
        (x0, y0), (x1, y1) = self.start, self.end
        sag = 4 / 3 * self.rise
        middle = 3 * part * (1 - part)
        lead = min(0.3, 1.5 / max(x1 - x0, 1.5)) + 0.1
        way = 3 * part * (1 - part) ** 2 * lead + 3 * part * part * (1 - part) * (1 - lead) + part**3
        return x0 + (x1 - x0) * way, y0 + (y1 - y0) * part + middle * sag

    @property
    def bounds(self) -> Bounds:
        """Its box."""
        points = [self.at(number / 8) for number in range(9)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return min(xs), min(ys) - 0.06, max(xs), max(ys) + 0.06

    @property
    def hull(self) -> tuple[Bounds, ...]:
        """Eight boxes along it."""
        points = [self.at(number / 8) for number in range(9)]
        return tuple((x0, min(y0, y1) - 0.06, x1, max(y0, y1) + 0.06) for (x0, y0), (x1, y1) in pairwise(points))

    def svg(self, onto: Onto, kind: str) -> str:
        """As an element of SVG: two curves with ink between them."""
        (x0, y0), (x1, y1) = self.start, self.end
        lead = (min(0.3, 1.5 / max(x1 - x0, 1.5)) + 0.1) * (x1 - x0)
        outer, inner = 4 / 3 * self.rise, 4 / 3 * (self.rise - (0.2 if self.rise > 0 else -0.2))
        tilt = (y1 - y0) / 3
        forth = " ".join(
            (
                onto.place(x0 + lead, y0 + tilt + outer),
                onto.place(x1 - lead, y1 - tilt + outer),
                onto.place(x1, y1),
            )
        )
        back = " ".join(
            (
                onto.place(x1 - lead, y1 - tilt + inner),
                onto.place(x0 + lead, y0 + tilt + inner),
                onto.place(x0, y0),
            )
        )
        return (
            f'<path class="{kind}" d="M{onto.place(x0, y0)}C{forth}C{back}Z" stroke="currentColor" '
            f'stroke-width="{0.08 * onto.space:.3f}" stroke-linejoin="round"/>'
        )


class Curve(NamedTuple):
    """A thin line along a cubic curve, such as a bend's."""

    points: tuple[Point, Point, Point, Point]
    thickness: float = 0.14

    @property
    def bounds(self) -> Bounds:
        """Its box."""
        lefts, tops, rights, bottoms = zip(*self.hull, strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    @property
    def hull(self) -> tuple[Bounds, ...]:
        """Six boxes along it."""
        half = self.thickness / 2
        points = [self.at(number / 6) for number in range(7)]
        return tuple(
            (min(x0, x1) - half, min(y0, y1) - half, max(x0, x1) + half, max(y0, y1) + half)
            for (x0, y0), (x1, y1) in pairwise(points)
        )

    def at(self, part: float) -> Point:
        """A point of it, by the part of the way."""
        weights = (1 - part) ** 3, 3 * part * (1 - part) ** 2, 3 * part**2 * (1 - part), part**3
        pairs = list(zip(weights, self.points, strict=True))
        return sum(weight * point[0] for weight, point in pairs), sum(weight * point[1] for weight, point in pairs)

    def svg(self, onto: Onto, kind: str) -> str:
        """As an element of SVG."""
        start, *others = (onto.place(*point) for point in self.points)
        width = f"{self.thickness * onto.space:.3f}"
        return (
            f'<path class="{kind}" d="M{start}C{" ".join(others)}" fill="none" stroke="currentColor" '
            f'stroke-width="{width}"/>'
        )


class Group(NamedTuple):
    """Several drawn as one sign, such as a chord symbol with its accidentals."""

    parts: tuple[Glyph | Words | Rule | Shape | Curve, ...]

    @property
    def bounds(self) -> Bounds:
        """The box around all."""
        lefts, tops, rights, bottoms = zip(*(part.bounds for part in self.parts), strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    def svg(self, onto: Onto, kind: str) -> str:
        """As elements of SVG."""
        return "".join(part.svg(onto, kind) for part in self.parts)


Drawn = Glyph | Words | Rule | Shape | Arc | Curve | Group


def hull_of(drawn: Drawn) -> tuple[Bounds, ...]:
    """Smaller boxes of what is curved or slanted; none for what fills its box."""
    if isinstance(drawn, Arc | Shape | Glyph | Curve | Rule):
        return drawn.hull
    if isinstance(drawn, Group):
        return tuple(bounds for part in drawn.parts for bounds in hull_of(part) or (part.bounds,))
    return ()
