"""The wire to the terminal: what it shows, what it should show, and the fewest bytes from the one to the other.

The toolkit's updates are put into a grid of cells. A frame is what makes the terminal's grid equal to it: only
changed cells, with the shortest moves of the cursor and changes of the pen, and lines that only move are moved
by the terminal. Nothing is queued: frames that could not be sent are skipped, as the next one starts from what
the terminal shows.
"""

from __future__ import annotations

from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING

from tabterm.tui.canvas import NARROW
from tabterm.tui.terminal.abilities import in_ascii
from tabterm.tui.terminal.brush import PLAIN, Brush, Pen, on_terminal, pen_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.segment import Segment

    from tabterm.tui.canvas import Line
    from tabterm.tui.terminal.abilities import Abilities
    from tabterm.tui.terminal.brush import Cell, GridRow

BLANK: Cell = (" ", PLAIN)
HIDE, SHOW = "\x1b[?25l", "\x1b[?25h"

LONG_FRAME = 400
"""Characters of a frame from which the cursor is hidden while it is drawn."""

SHORT_FRAME = 60
"""Characters of a frame up to which moving lines is not tried."""

WORTH_MOVING = 3
"""Lines that must have moved before moving them is tried."""


class Wire:
    """The terminal's grid and the wanted one; `lock` is held by whoever changes or reads them.

    Only lines that something was put on since the last frame can differ.
    """

    def __init__(self, abilities: Abilities, columns: int = 80, lines: int = 24) -> None:
        self.lock = Lock()
        self.abilities = abilities
        self.cursor: tuple[int, int] | None = None
        self.resize(columns, lines)

    def resize(self, columns: int, lines: int) -> None:
        """Begin with an empty grid of another size."""
        self.columns, self.lines = columns, lines
        self._wanted: list[GridRow] = _blank_rows(columns, lines)
        self._touched: set[int] = set()
        self.forget()

    def forget(self) -> None:
        """Whatever the terminal shows now, do not rely on it: the next frame draws everything."""
        self._shown: list[GridRow] | None = None
        self._brush = Brush(self.abilities, self.columns)
        self._cursor_seen: bool | None = None

    # What is wanted

    def take(self, update: object) -> bool:
        """Put an update of the toolkit into the grid; False when it is of an unknown kind."""
        from textual._compositor import ChopsUpdate, LayoutUpdate  # here, as the first picture does without

        if isinstance(update, LayoutUpdate):
            for y, strips in enumerate(update.strips, update.region.y):
                x = update.region.x
                for line in strips:
                    x = self.put(x, y, line)
        elif isinstance(update, ChopsUpdate):
            for y, start, end in update.spans:
                for chop_end, (x, strip) in zip(update.chop_ends[y], update.chops[y].items(), strict=False):
                    if strip is not None and x <= end and chop_end > start:
                        self.put(x, y, strip.crop(0, min(chop_end, end) - x))
        else:
            return False
        return True

    def put(self, x: int, y: int, segments: Iterable[Segment]) -> int:
        """Put text at a cell, and return the cell behind it; what lies outside the grid is left out."""
        if not 0 <= y < self.lines:
            return x
        row = self._wanted[y]
        for text, style, control in segments:
            if not control:
                cells = _cells(text, pen_of(style, self.abilities.colours), self.abilities.unicode)
                _lay(row, x, cells)
                x += len(cells)
        self._touched.add(y)
        return x

    def lay(self, x: int, y: int, line: Line) -> None:
        """Put a line of our own at a cell."""
        if not 0 <= y < self.lines:
            return
        row = self._wanted[y]
        for text, pen in line.runs:
            cells = _cells(text, on_terminal(pen, self.abilities.colours), self.abilities.unicode)
            _lay(row, x, cells)
            x += len(cells)
        self._touched.add(y)

    def wanted(self) -> list[GridRow]:
        """The cells as they are wanted."""
        return [row.copy() for row in self._wanted]

    def want(self, rows: list[GridRow]) -> None:
        """Want these cells, as many as the grid has."""
        self._wanted = [row.copy() for row in rows]
        self._touched.update(range(self.lines))

    # What is sent

    def frame(self) -> str:
        """What makes the terminal show what is wanted; it is taken to show that from then on."""
        begun = ""
        if self._shown is None:
            self._shown = _blank_rows(self.columns, self.lines)
            self._touched.update(range(self.lines))
            begun = self._brush.clear()
        drawn, self._shown, self._brush = min(
            self._ways(self._shown), key=lambda way: len(way[0].encode(errors="replace"))
        )
        return self._with_cursor(begun + drawn)

    def _ways(self, shown: list[GridRow]) -> Iterable[tuple[str, list[GridRow], Brush]]:
        """Drawing what differs; and moving lines first, where lines have moved."""
        differing = [y for y in sorted(self._touched) if shown[y] != self._wanted[y]]
        self._touched.clear()
        wanted = shown.copy()
        for y in differing:
            wanted[y] = self._wanted[y].copy()
        brush = self._brush.copy()
        drawn = brush.draw(shown, wanted, differing)
        yield drawn, wanted, brush
        tried = self.abilities.moves_lines and len(drawn) > SHORT_FRAME
        moved = moved_lines(shown, wanted, differing) if tried else None
        if moved is not None:
            top, bottom, by = moved
            brush = self._brush.copy()
            moves = brush.move_lines(top, bottom, by, self.lines)
            after = _with_lines_moved(shown, top, bottom, by, self.columns)
            rest = [y for y in range(self.lines) if after[y] != wanted[y]]
            yield moves + brush.draw(after, wanted, rest), wanted, brush

    def _with_cursor(self, drawn: str) -> str:
        """A drawing with the cursor put where it belongs, hidden where it has no place (if it can be)."""
        cursor = self._cursor_within()
        if not self.abilities.hides_cursor:
            return drawn + (self._brush.move(*cursor) if cursor is not None else "")
        hidden_before = HIDE if self._cursor_seen is not False and len(drawn) > LONG_FRAME else ""
        seen = self._cursor_seen and not hidden_before
        if cursor is None:
            last = HIDE if self._cursor_seen is not False and not hidden_before else ""
        else:
            last = self._brush.move(*cursor) + ("" if seen else SHOW)
        self._cursor_seen = cursor is not None
        return hidden_before + drawn + last

    def _cursor_within(self) -> tuple[int, int] | None:
        """Where the cursor belongs, if the grid has that cell: a terminal would put it elsewhere without a word.

        While a new size is laid out, the cell may still be one of the old size.
        """
        if self.cursor is None or not (0 <= self.cursor[0] < self.columns and 0 <= self.cursor[1] < self.lines):
            return None
        return self.cursor


def moved_lines(
    shown: Sequence[GridRow], wanted: Sequence[GridRow], differing: Sequence[int]
) -> tuple[int, int, int] | None:
    """The lines that moving would help most: the region from a line up to another, and by how many up; or None.

    Lines between two that have moved may differ a little, as where the sound is: they are mended afterwards.
    """
    if len(differing) < WORTH_MOVING:
        return None
    before = [hash(tuple(row)) for row in shown]
    after = [hash(tuple(row)) for row in wanted]
    lines = len(shown)
    best, found = WORTH_MOVING - 1, None
    for by in [*range(1, lines), *range(-1, -lines, -1)]:
        moved = [y for y in differing if 0 <= y + by < lines and after[y] == before[y + by]]
        if len(moved) > best:
            first, last = min(moved), max(moved)
            best, found = len(moved), (min(first, first + by), max(last, last + by) + 1, by)
    return found


def _with_lines_moved(shown: list[GridRow], top: int, bottom: int, by: int, columns: int) -> list[GridRow]:
    """What the terminal shows after `Brush.move_lines`."""
    number = abs(by)
    region, fresh = shown[top:bottom], _blank_rows(columns, number)
    moved = region[number:] + fresh if by > 0 else fresh + region[:-number]
    return shown[:top] + moved + shown[bottom:]


def _blank_rows(columns: int, lines: int) -> list[GridRow]:
    return [[BLANK] * columns for _ in range(lines)]


def _lay(row: GridRow, x: int, cells: GridRow) -> None:
    """Lay cells over a row from a cell on; of a wide character that they cut, the other half becomes blank."""
    end = min(x + len(cells), len(row))
    if x >= end:
        return
    if row[x][0] == "":
        row[x - 1] = BLANK
    row[x:end] = cells[: end - x]
    if end < len(row) and row[end][0] == "":
        row[end] = BLANK
    elif end == len(row) < x + len(cells) and cells[end - x][0] == "":
        row[end - 1] = BLANK


@lru_cache(maxsize=256)
def _cells(text: str, pen: Pen, unicode: bool) -> GridRow:
    """The cells that a text takes; the same ones whenever it is asked for, so that they are compared at once."""
    if not text.strip(" "):
        return [(" ", pen.without_ink)] * len(text)
    if text.isascii() and text.isprintable():
        blank = (" ", pen.without_ink)
        return [(character, pen) if character != " " else blank for character in text]
    if all(character in NARROW or (character.isascii() and character.isprintable()) for character in text):
        shown = text if unicode else "".join([in_ascii(character, 1) for character in text])
        return [(character, pen if character != " " else pen.without_ink) for character in shown]
    from rich.cells import split_graphemes

    cells: GridRow = []
    for start, end, width in split_graphemes(text)[0]:
        cluster = text[start:end]
        if not cluster.isprintable():
            cluster = "".join(filter(str.isprintable, cluster)) or "?"
        if not unicode and not cluster.isascii():
            cluster = in_ascii(cluster, width)
        cells.extend(_cluster_cells(cluster, width, pen))
    return cells


def _cluster_cells(cluster: str, width: int, pen: Pen) -> GridRow:
    if width <= 0:
        return []
    if cluster.isascii():
        return [(character, pen) for character in cluster]
    return [(cluster, pen), *[("", pen)] * (width - 1)]
