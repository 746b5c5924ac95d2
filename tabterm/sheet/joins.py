"""What joins notes on the staff: ties, slurs over chains of hammered and pulled notes, slides; and open ends."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.score.kinds import Direction, Reached
from tabterm.sheet.ink import Arc, Rule, hull_of
from tabterm.sheet.panel import Spot

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from tabterm.sheet.ink import Bounds, Point
    from tabterm.sheet.pairs import Pair, Place
    from tabterm.sheet.spacing import Placed
    from tabterm.sheet.staff import HeadAt, StaffDrawer

Walls = Mapping[int, tuple[float, float]]
"""By the index of a measure that begins with signs such as a new key: where they begin and end."""


def edges_of(placed: Sequence[Placed]) -> tuple[float, float]:
    """Where arcs from the system before begin, and where those to the next one end."""
    first, last = placed[0], placed[-1]
    head = first.spaced.head
    return first.left + (head + 0.1 if head else -0.3), last.right - last.spaced.tail - 0.3


def walls_of(placed: Sequence[Placed]) -> Walls:
    """The bar lines of a system that have other signs beside them."""
    walls = dict[int, tuple[float, float]]()
    for before, each in pairwise(placed):
        room, tail = each.spaced.head + each.spaced.change, before.spaced.tail
        if room or tail:
            walls[each.index] = (each.left - tail - 0.2, each.left + room + 0.2)
    return walls


def spans(pair: Pair, x0: float, x1: float, walls: Walls) -> list[tuple[float, float]]:
    """From one end of a pair to the other, in two halves where the signs at a bar line lie between."""
    wall = walls.get(pair.end[0]) if pair.start[0] != pair.end[0] else None
    if wall is None or not x0 < wall[0] < wall[1] < x1:
        return [(x0, x1)]
    return [(x0, wall[0] - 0.2), (wall[1] + 0.2, x1)]


SHIFTS = (0.0, -0.3, 0.3, -0.6, 0.6, -0.9, 0.9, -1.2, 1.2)
"""How far what goes out from a head is moved where something is in its way, in this order."""


class Joiner:
    """Draws what joins the heads of a system; what goes on in another one gets an arc to the edge.

    Args:
        drawer: The staff, with its heads in place.
        edges: Where the notes of the system begin, and where it ends.
        walls: The signs at bar lines that nothing may cross.
    """

    def __init__(self, drawer: StaffDrawer, edges: tuple[float, float], walls: Walls) -> None:
        self._panel = drawer.panel
        self._drawer = drawer
        self._edges = edges
        self._walls = walls
        self._drawn: list[Bounds] = []

    def _put(self, kind: str, at: Callable[[float], Arc | Rule], spot: Spot) -> None:
        """Draw what goes out from a head, moved up or down as little as keeps it off the others."""
        for shift in SHIFTS:
            drawn = at(shift)
            boxes = hull_of(drawn) or (drawn.bounds,)
            if not any(_meet(one, other) for one in boxes for other in self._drawn):
                break
        self._drawn += boxes
        self._panel.put(kind, drawn, spot)

    def ties(self, pairs: Iterable[Pair]) -> None:
        """Draw ties between heads."""
        for pair in pairs:
            if pair.reached is None:
                self._tie(pair)

    def _tie(self, pair: Pair) -> None:
        start, end = self._drawer.heads.get(pair.start), self._drawer.heads.get(pair.end)
        head = start or end
        if head is None:
            return
        above = self._tie_above(head, pair.start[3])
        way = -1.0 if above else 1.0
        x0 = self._edges[0]
        if start:
            x0 = max(start.free + start.ledger, start.clear if above else 0.0) + 0.12
        x1 = _begin(end) - 0.12 - end.ledger if end else self._edges[1]
        y = head.y + way * 0.35
        spot = Spot(pair.start[0] if start else pair.end[0], head.chord.offset, pair.start[3])
        for left, right in spans(pair, x0, x1, self._walls):
            rise = way * min(0.45 + 0.05 * (right - left), 1.1)
            self._put("tie", partial(_arc, (left, y), right - left, rise), spot)

    def _tie_above(self, head: HeadAt, course: int) -> bool:
        """Away from the stem; in a chord the upper half goes up."""
        heads = head.chord.heads
        if len(heads) == 1:
            return not head.stem_up
        number = next((at for at, each in enumerate(heads) if (each.course or each.step) == course), 0)
        return number >= len(heads) / 2

    def slurs(self, spans: Sequence[tuple[Place, Place]]) -> None:
        """Draw slurs outside the notes that they hold."""
        for start, end in spans:
            self._slur(start, end)

    def _slur(self, start: Place, end: Place) -> None:
        heads = self._drawer.heads
        first, last = heads.get(start), heads.get(end)
        if first is None and last is None:
            return
        inside = [head for place, head in heads.items() if start[:3] <= place[:3] <= end[:3] and not head.small]
        above = not all(head.stem_up for head in inside)
        x0 = (first.left + first.right) / 2 if first else self._edges[0]
        x1 = (last.left + last.right) / 2 if last else self._edges[1]
        if first and first.stem_up and above:
            x0 += 0.2
        sky, way = self._panel.skyline, -1.0 if above else 1.0

        def edge(head: HeadAt | None, other: HeadAt | None) -> float:
            near = head or other
            assert near is not None  # noqa: S101 - one of the two ends is in this system
            sides = (near.left, near.right)
            return sky.top(*sides, near.y) - 0.45 if above else sky.bottom(*sides, near.y) + 0.45

        y0, y1 = edge(first, last), edge(last, first)
        rise = way * min(0.7 + 0.07 * (x1 - x0), 1.6)
        arc = Arc((x0, y0), (x1, y1), rise)
        for _ in range(40):
            lack = self._lack(arc, above=above)
            if lack <= 0:
                break
            arc = Arc(
                (x0, y0 := y0 + way * lack * 0.4), (x1, y1 := y1 + way * lack * 0.4), arc.rise + way * lack * 0.4
            )
        spot = Spot(start[0] if first else end[0], (first or last).chord.offset, start[3])  # type: ignore[union-attr]
        self._panel.put("slur", arc, spot)

    def _lack(self, arc: Arc, *, above: bool) -> float:
        """How much nearer an arc comes to the ink under it than it may."""
        sky, lack = self._panel.skyline, 0.0
        for left, top, right, bottom in arc.hull:
            if above:
                lack = max(lack, bottom + 0.2 - sky.top(left, right, 50.0))
            else:
                lack = max(lack, sky.bottom(left, right, -50.0) + 0.2 - top)
        return lack

    def slides(self, pairs: Iterable[Pair]) -> None:
        """Draw a line from head to head for each slide, and short ones to and from no particular fret."""
        for pair in pairs:
            if pair.reached is Reached.SLIDE:
                self._slide(pair)
        for place, head in self._drawer.heads.items():
            note = next((each.note for each in head.chord.heads if each.course == place[3]), None)
            if note is None or head.small:
                continue
            spot = Spot(place[0], head.chord.offset, place[3])
            if note.slide_in is not None:
                rise = 0.45 if note.slide_in is Direction.UP else -0.45
                self._put("slide", partial(_line, (head.begin - 1.3, head.y + rise), (1.1, -0.7 * rise)), spot)
            x = max(head.free + head.ledger, head.clear) + 0.2
            if note.slide_out is not None:
                rise = -0.45 if note.slide_out is Direction.UP else 0.45
                self._put("slide", partial(_line, (x, head.y + 0.3 * rise), (0.95, 0.7 * rise)), spot)
            elif note.ring:
                way = -1.0 if self._tie_above(head, place[3]) else 1.0
                self._put("ring", partial(_arc, (x - 0.08, head.y + 0.4 * way), 1.1, 0.5 * way), spot)

    def _slide(self, pair: Pair) -> None:
        start, end = self._drawer.heads.get(pair.start), self._drawer.heads.get(pair.end)
        head = start or end
        if head is None:
            return
        x0 = max(start.free + start.ledger, start.clear) + 0.2 if start else self._edges[0]
        x1 = end.first - 0.2 - end.ledger if end else self._edges[1]
        y0, y1 = (start or head).y, (end or head).y
        lean = (y1 - y0) * 0.25
        spot = Spot(pair.start[0] if start else pair.end[0], head.chord.offset, pair.end[3])
        for left, right in spans(pair, x0, x1, self._walls):
            self._put("slide", partial(_line, (left, y0 + lean), (right - left, y1 - y0 - 2 * lean)), spot)


def _begin(head: HeadAt) -> float:
    """Where a tie to a head ends: before its grace notes, and before signs of its chord at its height."""
    event = head.chord.event
    if event is not None and event.grace:
        return head.outer
    near = [each for each in head.chord.heads if abs(each.y - head.y) < 3.2]
    crowded = any(each.accidental or each.shifted for each in near)
    return head.first if crowded or (event is not None and event.roll is not None) else head.left


def _arc(start: Point, length: float, rise: float, shift: float) -> Arc:
    x, y = start[0], start[1] + shift
    return Arc((x, y), (x + length, y), rise)


def _line(start: Point, way: Point, shift: float) -> Rule:
    x, y = start[0], start[1] + shift
    return Rule((((x, y), (x + way[0], y + way[1])),), 0.16)


def _meet(one: Bounds, other: Bounds) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
