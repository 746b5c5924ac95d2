"""The brush: the terminal's cursor and pen, and the fewest bytes that move them and draw cells."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from rich.color import Color
    from rich.style import Style

    from tabterm.tui.terminal.abilities import Abilities, Colours


MARKS = {
    "bold": ("1", "22"),
    "dim": ("2", "22"),
    "italic": ("3", "23"),
    "underline": ("4", "24"),
    "blink": ("5", "25"),
    "blink2": ("6", "25"),
    "reverse": ("7", "27"),
    "conceal": ("8", "28"),
    "strike": ("9", "29"),
    "underline2": ("21", "24"),
    "overline": ("53", "55"),
}
"""Attributes of a style, with what begins and ends each (ECMA-48, 5th edition, 8.3.117 SGR)."""

SEEN_ON_BLANKS = frozenset(MARKS) - {"bold", "dim", "italic", "conceal"}
"""Attributes that show where there is no ink."""


class Pen(NamedTuple):
    """Parameters of SGR for the ink and the ground ("" for the terminal's own), and names of attributes."""

    ink: str = ""
    ground: str = ""
    marks: frozenset[str] = frozenset()

    @property
    def without_ink(self) -> Pen:
        """The same on a blank, where ink that cannot be seen makes no difference."""
        return _without_ink(self)

    def under(self, other: Pen) -> Pen:
        """What comes of another pen over this one."""
        return Pen(other.ink or self.ink, other.ground or self.ground, self.marks | other.marks)


PLAIN = Pen()


@lru_cache(maxsize=1024)
def _without_ink(pen: Pen) -> Pen:
    seen = pen.marks & SEEN_ON_BLANKS
    return Pen(pen.ink if seen else "", pen.ground, seen)


@lru_cache(maxsize=1024)
def on_terminal(pen: Pen, colours: Colours) -> Pen:
    """A pen of ours, its colours of xterm's table or the first eight, on a terminal with so many colours."""
    if colours == "none":
        return Pen(marks=pen.marks)
    if colours == "standard" and ";" in pen.ink + pen.ground:
        return pen_of(style_of(pen), colours)
    return pen


@lru_cache(maxsize=4096)
def pen_of(style: Style | None, colours: Colours) -> Pen:
    """The pen of a toolkit's style on a terminal with so many colours."""
    if style is None:
        return PLAIN
    return Pen(
        _parameters(style.color, colours, foreground=True),
        _parameters(style.bgcolor, colours, foreground=False),
        frozenset(name for name in MARKS if getattr(style, name)),
    )


def _parameters(color: Color | None, colours: Colours, *, foreground: bool) -> str:
    if color is None or color.is_default or colours == "none":
        return ""
    from rich.color import ColorSystem  # here, as the first picture does without

    systems = {
        "standard": ColorSystem.STANDARD,
        "256": ColorSystem.EIGHT_BIT,
        "truecolor": ColorSystem.TRUECOLOR,
    }
    number = _in_table(color.triplet) if color.triplet is not None and colours != "standard" else None
    if number is not None:
        return f"{38 if foreground else 48};5;{number}"
    return ";".join(color.downgrade(systems[colours]).get_ansi_codes(foreground=foreground))


@lru_cache(maxsize=256)
def style_of(pen: Pen) -> Style:
    """A pen as the toolkit knows it."""
    from rich.style import Style  # here, as the first picture does without

    marks: dict[str, Any] = dict.fromkeys(pen.marks, True)
    return Style(color=_colour(pen.ink), bgcolor=_colour(pen.ground), **marks)


def _colour(parameters: str) -> Color | None:
    """A colour by its parameters of SGR: of the table of 256, or one of the first eight."""
    if not parameters:
        return None
    from rich.color import Color

    *table, number = map(int, parameters.split(";"))
    return Color.from_ansi(number if table else number % 10)


LEVELS = (0, 95, 135, 175, 215, 255)
"""Of red, green and blue in the cube of xterm's table of 256 colours (xterm, 256colres.pl)."""


def _in_table(triplet: tuple[int, int, int]) -> int | None:
    """The number of a colour in that table, which takes half the bytes of the colour; None where it lacks it."""
    red, green, blue = triplet
    if red == green == blue and red % 10 == 8 and red < 248:
        return 232 + red // 10
    if {red, green, blue} <= set(LEVELS):
        return 16 + 36 * LEVELS.index(red) + 6 * LEVELS.index(green) + LEVELS.index(blue)
    return None


@lru_cache(maxsize=4096)
def change(before: Pen | None, after: Pen, ends_attributes: bool = True) -> str:
    """The shortest sequence that takes one pen for another; `before` is None where it is not known.

    On a terminal that cannot end attributes on their own, everything is ended and begun anew.
    """
    if before == after:
        return ""
    begun = [MARKS[name][0] for name in MARKS if name in after.marks]
    afresh = ["", *begun, *filter(None, (after.ink, after.ground))]
    ways = [afresh]
    if before is not None and (ends_attributes or before.marks <= after.marks):
        ways.append(_differences(before, after))
    return min((f"\x1b[{';'.join(way)}m" for way in ways), key=len)


def _differences(before: Pen, after: Pen) -> list[str]:
    ended = {MARKS[name][1] for name in before.marks - after.marks}
    lasting = {name for name in before.marks if MARKS[name][1] not in ended}
    parameters = sorted(ended, key=int)
    parameters += [MARKS[name][0] for name in MARKS if name in after.marks - lasting]
    if before.ink != after.ink:
        parameters.append(after.ink or "39")
    if before.ground != after.ground:
        parameters.append(after.ground or "49")
    return parameters


Cell = tuple[str, Pen]
"""What a cell shows: a character with what combines with it ("" in the second half of a wide one), and its pen."""

GridRow = list[Cell]


FEW = 300
"""Characters of a frame up to which it is tried pen by pen, where it is of more than three lines."""


class Brush:
    """Where the terminal's cursor is and which pen is in force, as far as they are known."""

    def __init__(self, abilities: Abilities, columns: int) -> None:
        self.abilities = abilities
        self.columns = columns
        self.at: tuple[int, int] | None = None
        self.pen: Pen | None = None

    def copy(self) -> Brush:
        """Another brush in the same place."""
        brush = Brush(self.abilities, self.columns)
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
        return change(before, pen, self.abilities.ends_attributes)

    def move(self, x: int, y: int) -> str:
        """The shortest way to a cell."""
        before, self.at = self.at, (x, y)
        if before == self.at:
            return ""
        ways = [f"\x1b[{y + 1};{x + 1}H" if x else f"\x1b[{y + 1}H" if y else "\x1b[H"]
        if before is not None and before[1] == y:
            ways.append(_forward(x - before[0]) if x > before[0] else _back(before[0] - x))
            ways.append("\r" + _forward(x))
        elif before is not None:
            step = _down(y - before[1]) if y > before[1] else _step(before[1] - y, "A")
            ways.append((_forward(x - before[0]) if x > before[0] else _back(before[0] - x)) + step)
            ways.append("\r" + _forward(x) + step)
        return min(ways, key=len)

    def draw(self, shown: Sequence[GridRow], wanted: Sequence[GridRow], lines: Iterable[int]) -> str:
        """Draw the cells of some lines that differ, first those of the line that the cursor is on.

        A few cells on several lines, as of what sounds, may take fewer bytes pen by pen than line by line.
        """
        here = None if self.at is None else self.at[1]
        order, other = sorted(lines, key=lambda y: y != here), self.copy()
        drawn = "".join([self._draw_line(y, shown[y], wanted[y]) for y in order])
        if len(order) > 3 and len(drawn) <= FEW:
            cells = [(y, x) for y in sorted(order) for x in range(self.columns) if shown[y][x] != wanted[y][x]]
            by_pens = other.draw_by_pens(dict(enumerate(wanted)), [(y, x) for y, x in cells if wanted[y][x][0]])
            if len(by_pens) < len(drawn):
                self.at, self.pen = other.at, other.pen
                return by_pens
        return drawn

    def draw_by_pens(self, wanted: Mapping[int, GridRow], cells: list[tuple[int, int]]) -> str:
        """Draw some cells, each by its line and its place on it, all of one pen before those of another."""
        parts: list[str] = []
        while cells:
            now = [(y, x) for y, x in cells if self._does_for(wanted[y][x])] or cells[:1]
            parts += [
                self.draw_cells(y, wanted[y], [x for _, x in group])
                for y, group in groupby(now, key=itemgetter(0))
            ]
            drawn = set(now)
            cells = [cell for cell in cells if cell not in drawn]
        return "".join(parts)

    def _draw_line(self, y: int, shown: GridRow, wanted: GridRow) -> str:
        tail = self._tail(wanted)
        erases = sum(shown[x] != wanted[x] for x in range(tail, len(wanted))) > 3
        cells = [x for x in range(tail if erases else len(wanted)) if wanted[x][0] and shown[x] != wanted[x]]
        drawn = self._shortest(y, wanted, cells)
        if erases:
            pen = wanted[tail][1]
            drawn += self.move(tail, y) + ("" if self._does_for_blank(pen) else self.take(pen)) + "\x1b[K"
        return drawn

    def _shortest(self, y: int, wanted: GridRow, cells: list[int]) -> str:
        """Draw some cells of a line from left to right, or all of one pen before those of another."""
        if len({wanted[x][1] for x in cells}) < 2:
            return self.draw_cells(y, wanted, cells)
        other = self.copy()
        drawn = self.draw_cells(y, wanted, cells)
        by_pens = other.draw_by_pens({y: wanted}, [(y, x) for x in cells])
        if len(by_pens) < len(drawn):
            self.at, self.pen = other.at, other.pen
            return by_pens
        return drawn

    def draw_cells(self, y: int, wanted: GridRow, cells: list[int]) -> str:
        """Draw some cells of a line one after the other."""
        parts: list[str] = []
        for x in cells:
            text, pen = wanted[x]
            if self.at != (x, y):
                parts.append(self._go(x, y, wanted))
            if self.pen != pen:
                parts.append(self._take_for(wanted, x))
            parts.append(text)
            self._advance(x, y, text, wanted)
        return "".join(parts)

    def _does_for(self, cell: Cell) -> bool:
        """Whether the pen in force makes a cell."""
        return self.pen == cell[1] or (cell[0] == " " and self._does_for_blank(cell[1]))

    def _take_for(self, wanted: GridRow, x: int) -> str:
        """Take the pen of a cell; for blanks that of the next character, where it does for both."""
        text, pen = wanted[x]
        if text != " ":
            return self.take(pen)
        following = next((cell for cell in wanted[x + 1 :] if cell != wanted[x]), wanted[x])
        alike = following[0] != " " and following[1].without_ink == pen
        return "" if self._does_for_blank(pen) else self.take(following[1] if alike else pen)

    def _tail(self, wanted: GridRow) -> int:
        """The first cell of the blanks at a line's end that erasing to its end makes."""
        last = wanted[-1]
        if last[0] != " " or last[1].marks or (last[1].ground and not self.abilities.erases_in_colour):
            return len(wanted)
        x = len(wanted)
        while x and wanted[x - 1] == last:
            x -= 1
        return x

    def _go(self, x: int, y: int, wanted: GridRow) -> str:
        """Move to a cell; over a few cells that stay as they are, writing them anew may be shorter."""
        before = self.at
        way = self.move(x, y)
        if before is not None and before[1] == y and 0 < x - before[0] < len(way):
            between = wanted[before[0] : x]
            if all(self._does_for(cell) and cell[0].isascii() and cell[0] for cell in between):  # "" is ASCII too
                return "".join([cell[0] for cell in between])
        return way

    def _advance(self, x: int, y: int, text: str, wanted: GridRow) -> None:
        """The cursor after a character; at the line's end, and after what terminals disagree on, not known."""
        x += 1
        simple = len(text) == 1 and (text.isascii() or wanted[x : x + 1] != [("", wanted[x - 1][1])])
        self.at = (x, y) if simple and x < self.columns else None

    def move_lines(self, top: int, bottom: int, by: int, lines: int) -> str:
        """Move what is on the lines from `top` up to `bottom` up by so many lines (down where it is negative)."""
        number = abs(by)
        gone, come = (top, bottom - number) if by > 0 else (bottom - number, top)
        moves = self.take(PLAIN) + self.move(0, gone) + f"\x1b[{number if number > 1 else ''}M"
        if by < 0 or bottom < lines:
            moves += self.move(0, come) + f"\x1b[{number if number > 1 else ''}L"
        return moves


def _down(lines: int) -> str:
    """A line feed takes no more than that where the terminal's line adds no return to it."""
    return min("\n" * lines, _step(lines, "B"), key=len)


def _step(number: int, final: str) -> str:
    """A move by so many cells or lines; "" for none."""
    return "" if not number else f"\x1b[{final}" if number == 1 else f"\x1b[{number}{final}"


def _forward(cells: int) -> str:
    return _step(cells, "C")


def _back(cells: int) -> str:
    return min("\b" * cells, _step(cells, "D"), key=len)
