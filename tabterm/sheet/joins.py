"""What joins notes on the staff: ties, slurs over chains of hammered and pulled notes, slides; and open ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import Direction, Reached
from tabterm.sheet.ink import Arc, Rule, Spot

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.sheet.reading import Pair
    from tabterm.sheet.staff import HeadAt, StaffDrawer

Place = tuple[int, int, int, int]


def chains(pairs: Iterable[Pair]) -> list[tuple[Place, Place]]:
    """Slurs: from the first note to the last of each chain of hammered and pulled notes, one to a moment."""
    found: list[list[Place]] = []
    for pair in pairs:
        if pair.reached in {None, Reached.SLIDE}:
            continue
        if found and found[-1][1][:3] == pair.end[:3] and found[-1][0][:3] <= pair.start[:3]:
            continue
        if found and found[-1][1][:3] == pair.start[:3]:
            found[-1][1] = pair.end
        else:
            found.append([pair.start, pair.end])
    return [(start, end) for start, end in found]


class Joiner:
    """Draws what joins the heads of a system; what goes on in another one gets an arc to the edge.

    Args:
        drawer: The staff, with its heads in place.
        edges: Where the notes of the system begin, and where it ends.
    """

    def __init__(self, drawer: StaffDrawer, edges: tuple[float, float]) -> None:
        self._panel = drawer.panel
        self._drawer = drawer
        self._edges = edges

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
        x0 = start.free + 0.12 if start else self._edges[0] - 1.6
        x1 = end.left - 0.12 if end else self._edges[1] - 0.3
        y = head.y + way * 0.35
        rise = way * min(0.45 + 0.05 * (x1 - x0), 1.1)
        spot = Spot(pair.start[0] if start else pair.end[0], head.chord.offset, pair.start[3])
        self._panel.put("tie", Arc((x0, y), (x1, y), rise), spot)

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
        x0 = (first.left + first.right) / 2 if first else self._edges[0] - 1.6
        x1 = (last.left + last.right) / 2 if last else self._edges[1] - 0.3
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
                line = ((head.left - 1.15, head.y + rise), (head.left - 0.2, head.y + rise * 0.3))
                self._panel.put("slide", Rule((line,), 0.16), spot)
            if note.slide_out is not None:
                rise = -0.45 if note.slide_out is Direction.UP else 0.45
                line = ((head.free + 0.2, head.y + rise * 0.3), (head.free + 1.15, head.y + rise))
                self._panel.put("slide", Rule((line,), 0.16), spot)
            elif note.ring:
                way = 1.0 if head.stem_up else -1.0
                y = head.y + way * 0.4
                self._panel.put("ring", Arc((head.free + 0.12, y), (head.free + 1.35, y), way * 0.5), spot)

    def _slide(self, pair: Pair) -> None:
        start, end = self._drawer.heads.get(pair.start), self._drawer.heads.get(pair.end)
        head = start or end
        if head is None:
            return
        x0 = start.free + 0.2 if start else self._edges[0] - 1.4
        x1 = end.left - 0.2 if end else self._edges[1] - 0.4
        y0, y1 = (start or head).y, (end or head).y
        if x1 - x0 < 0.3:
            return
        lean = (y1 - y0) * 0.25
        spot = Spot(pair.start[0] if start else pair.end[0], head.chord.offset, pair.end[3])
        self._panel.put("slide", Rule((((x0, y0 + lean), (x1, y1 - lean)),), 0.16), spot)
