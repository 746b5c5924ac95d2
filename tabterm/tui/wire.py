"""The wire to the terminal: what it shows, what it should show, and the fewest bytes from the one to the other.

The toolkit's updates are put into a grid of cells. A frame is what makes the terminal's grid equal to it: only
changed cells, with the shortest moves of the cursor and changes of the pen, and lines that only move are moved
by the terminal. Nothing is queued: frames that could not be sent are skipped, as the next one starts from what
the terminal shows.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

from rich.cells import split_graphemes
from textual._compositor import ChopsUpdate, LayoutUpdate

from tabterm.tui.pens import PLAIN, Pen, change, pen_of
from tabterm.tui.transliteration import in_ascii

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.segment import Segment

    from tabterm.tui.terminal import Terminal

Cell = tuple[str, Pen]
"""What a cell shows: a character with what combines with it ("" in the second half of a wide one), and its pen."""

Row = list[Cell]

BLANK: Cell = (" ", PLAIN)
HIDE, SHOW = "\x1b[?25l", "\x1b[?25h"

LONG_FRAME = 400
"""Characters of a frame from which the cursor is hidden while it is drawn."""

WORTH_MOVING = 3
"""Lines that must have moved before moving them is tried."""


class Wire:
    """The terminal's grid and the wanted one; `lock` is held by whoever changes or reads them."""

    def __init__(self, terminal: Terminal, columns: int = 80, lines: int = 24) -> None:
        self.lock = Lock()
        self.terminal = terminal
        self.cursor: tuple[int, int] | None = None
        self.resize(columns, lines)

    def resize(self, columns: int, lines: int) -> None:
        """Begin with an empty grid of another size."""
        self.columns, self.lines = columns, lines
        self._wanted: list[Row] = _blank_rows(columns, lines)
        self.forget()

    def forget(self) -> None:
        """Whatever the terminal shows now, do not rely on it: the next frame draws everything."""
        self._shown: list[Row] | None = None
        self._brush = Brush(self.terminal, self.columns)
        self._cursor_seen: bool | None = None

    # What is wanted

    def take(self, update: object) -> bool:
        """Put an update of the toolkit into the grid; False when it is of an unknown kind."""
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
                cells = self._cells(text, pen_of(style, self.terminal.colours))
                _lay(row, x, cells)
                x += len(cells)
        return x

    def _cells(self, text: str, pen: Pen) -> Row:
        if not text.strip(" "):
            return [(" ", pen.without_ink)] * len(text)
        if text.isascii() and text.isprintable():
            blank = (" ", pen.without_ink)
            return [(character, pen) if character != " " else blank for character in text]
        cells: Row = []
        for start, end, width in split_graphemes(text)[0]:
            cluster = text[start:end]
            if not cluster.isprintable():
                cluster = "".join(filter(str.isprintable, cluster)) or "?"
            if not self.terminal.unicode and not cluster.isascii():
                cluster = in_ascii(cluster, width)
            cells.extend(_cluster_cells(cluster, width, pen))
        return cells

    # What is sent

    def frame(self) -> str:
        """What makes the terminal show what is wanted; it is taken to show that from then on."""
        begun = ""
        if self._shown is None:
            self._shown = _blank_rows(self.columns, self.lines)
            begun = self._brush.clear()
        drawn, self._shown, self._brush = min(self._ways(self._shown), key=lambda way: len(way[0]))
        return self._with_cursor(begun + drawn)

    def _ways(self, shown: list[Row]) -> Iterable[tuple[str, list[Row], Brush]]:
        """Drawing what differs; and moving lines first, where lines have moved."""
        differing = [y for y in range(self.lines) if shown[y] != self._wanted[y]]
        wanted = shown.copy()
        for y in differing:
            wanted[y] = self._wanted[y].copy()
        brush = self._brush.copy()
        yield brush.draw(shown, wanted, differing), wanted, brush
        moved = moved_lines(shown, wanted, differing) if self.terminal.moves_lines else None
        if moved is not None:
            top, bottom, by = moved
            brush = self._brush.copy()
            moves = brush.move_lines(top, bottom, by, self.lines)
            after = _with_lines_moved(shown, top, bottom, by, self.columns)
            rest = [y for y in range(self.lines) if after[y] != wanted[y]]
            yield moves + brush.draw(after, wanted, rest), wanted, brush

    def _with_cursor(self, drawn: str) -> str:
        """A drawing with the cursor put where it belongs, hidden where it has no place."""
        hidden_before = HIDE if self._cursor_seen is not False and len(drawn) > LONG_FRAME else ""
        seen = self._cursor_seen and not hidden_before
        if self.cursor is None:
            last = HIDE if self._cursor_seen is not False and not hidden_before else ""
        else:
            last = self._brush.move(*self.cursor) + ("" if seen else SHOW)
        self._cursor_seen = self.cursor is not None
        return hidden_before + drawn + last


class Brush:
    """Where the terminal's cursor is and which pen is in force, as far as they are known."""

    def __init__(self, terminal: Terminal, columns: int) -> None:
        self.terminal = terminal
        self.columns = columns
        self.at: tuple[int, int] | None = None
        self.pen: Pen | None = None

    def copy(self) -> Brush:
        """Another brush in the same place."""
        brush = Brush(self.terminal, self.columns)
        brush.at, brush.pen = self.at, self.pen
        return brush

    def clear(self) -> str:
        """Make the whole screen blank."""
        self.at, self.pen = (0, 0), PLAIN
        return "\x1b[m\x1b[H\x1b[2J"

    def _does_for_blank(self, pen: Pen) -> bool:
        """Whether the pen in force makes the blanks of another: its ink is not seen on them."""
        return self.pen is not None and self.pen.without_ink == pen

    def take(self, pen: Pen) -> str:
        """Take a pen."""
        before, self.pen = self.pen, pen
        return change(before, pen, self.terminal.ends_attributes)

    def move(self, x: int, y: int) -> str:
        """The shortest way to a cell."""
        before, self.at = self.at, (x, y)
        if before == self.at:
            return ""
        ways = [f"\x1b[{y + 1};{x + 1}H" if x else f"\x1b[{y + 1}H" if y else "\x1b[H"]
        if before is not None and before[1] == y:
            ways.append(_forward(x - before[0]) if x > before[0] else _back(before[0] - x))
            ways.append("\r" + _forward(x))
        elif before is not None and (before[0] == x or x == 0):
            carriage = "\r" if before[0] != x else ""
            ways.append(carriage + _step(abs(y - before[1]), "B" if y > before[1] else "A"))
        return min(ways, key=len)

    def draw(self, shown: Sequence[Row], wanted: Sequence[Row], lines: Iterable[int]) -> str:
        """Draw the cells of some lines that differ."""
        return "".join([self._draw_line(y, shown[y], wanted[y]) for y in lines])

    def _draw_line(self, y: int, shown: Row, wanted: Row) -> str:
        tail = self._tail(wanted)
        erases = sum(shown[x] != wanted[x] for x in range(tail, len(wanted))) > 3
        parts: list[str] = []
        for x in range(tail if erases else len(wanted)):
            text = wanted[x][0]
            if text and shown[x] != wanted[x]:
                parts += (self._go(x, y, wanted), self._take_for(wanted, x), text)
                self._advance(x, y, text, wanted)
        if erases:
            pen = wanted[tail][1]
            parts += (self.move(tail, y), "" if self._does_for_blank(pen) else self.take(pen), "\x1b[K")
        return "".join(parts)

    def _take_for(self, wanted: Row, x: int) -> str:
        """Take the pen of a cell; for blanks that of the next character, where it does for both."""
        text, pen = wanted[x]
        if text != " ":
            return self.take(pen)
        following = next((cell for cell in wanted[x + 1 :] if cell != wanted[x]), wanted[x])
        alike = following[0] != " " and following[1].without_ink == pen
        return "" if self._does_for_blank(pen) else self.take(following[1] if alike else pen)

    def _tail(self, wanted: Row) -> int:
        """The first cell of the blanks at a line's end that erasing to its end makes."""
        last = wanted[-1]
        if last[0] != " " or last[1].marks or (last[1].ground and not self.terminal.erases_in_colour):
            return len(wanted)
        x = len(wanted)
        while x and wanted[x - 1] == last:
            x -= 1
        return x

    def _go(self, x: int, y: int, wanted: Row) -> str:
        """Move to a cell; over a few cells that stay as they are, writing them anew may be shorter."""
        before, pen = self.at, self.pen
        way = self.move(x, y)
        if before is not None and before[1] == y and 0 < x - before[0] < len(way):
            between = wanted[before[0] : x]
            if all(cell[1] == pen and cell[0].isascii() and cell[0] for cell in between):  # "" is ASCII too
                return "".join([cell[0] for cell in between])
        return way

    def _advance(self, x: int, y: int, text: str, wanted: Row) -> None:
        """The cursor after a character; at the line's end, and after what terminals disagree on, not known."""
        simple = len(text) == 1 and (text.isascii() or wanted[x + 1 : x + 2] != [("", wanted[x][1])])
        self.at = (x + 1, y) if simple and x + 1 < self.columns else None

    def move_lines(self, top: int, bottom: int, by: int, lines: int) -> str:
        """Move what is on the lines from `top` up to `bottom` up by so many lines (down where it is negative)."""
        number = abs(by)
        gone, come = (top, bottom - number) if by > 0 else (bottom - number, top)
        moves = self.take(PLAIN) + self.move(0, gone) + f"\x1b[{number if number > 1 else ''}M"
        if by < 0 or bottom < lines:
            moves += self.move(0, come) + f"\x1b[{number if number > 1 else ''}L"
        return moves


def moved_lines(
    shown: Sequence[Row], wanted: Sequence[Row], differing: Sequence[int]
) -> tuple[int, int, int] | None:
    """The lines that moving would help most: the region from a line up to another, and by how many up; or None."""
    if len(differing) < WORTH_MOVING:
        return None
    before = [hash(tuple(row)) for row in shown]
    after = [hash(tuple(row)) for row in wanted]
    changed, lines = set(differing), len(shown)
    best, found = WORTH_MOVING - 1, None
    for by in [*range(1, lines), *range(-1, -lines, -1)]:
        run = 0
        for y in range(lines):
            run = run + 1 if 0 <= y + by < lines and y in changed and after[y] == before[y + by] else 0
            if run > best:
                first = y - run + 1
                best, found = run, (min(first, first + by), max(y, y + by) + 1, by)
    return found


def _with_lines_moved(shown: list[Row], top: int, bottom: int, by: int, columns: int) -> list[Row]:
    """What the terminal shows after `Brush.move_lines`."""
    number = abs(by)
    region, fresh = shown[top:bottom], _blank_rows(columns, number)
    moved = region[number:] + fresh if by > 0 else fresh + region[:-number]
    return shown[:top] + moved + shown[bottom:]


def _blank_rows(columns: int, lines: int) -> list[Row]:
    return [[BLANK] * columns for _ in range(lines)]


def _lay(row: Row, x: int, cells: Row) -> None:
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


def _cluster_cells(cluster: str, width: int, pen: Pen) -> Row:
    if width <= 0:
        return []
    if cluster.isascii():
        return [(character, pen) for character in cluster]
    return [(cluster, pen), *[("", pen)] * (width - 1)]


def _step(number: int, final: str) -> str:
    """A move by so many cells or lines; "" for none."""
    return "" if not number else f"\x1b[{final}" if number == 1 else f"\x1b[{number}{final}"


def _forward(cells: int) -> str:
    return _step(cells, "C")


def _back(cells: int) -> str:
    return min("\b" * cells, _step(cells, "D"), key=len)
