"""One line of the screen under construction: characters, each with a pen; and the line that comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from tabterm.tui.terminal.brush import Pen

NARROW = frozenset("‖▐…│")
"""Signs of the program's own that take one cell; of others the toolkit is asked."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the screen: runs of text, each of one pen, and how many cells they take together."""

    runs: tuple[tuple[str, Pen], ...]
    width: int

    @property
    def text(self) -> str:
        """Its characters."""
        return "".join(text for text, _ in self.runs)

    def to(self, width: int, pen: Pen) -> Line:
        """The same on so many cells: cut off, or with blanks of a pen behind it."""
        if width == self.width:
            return self
        canvas, x = Canvas(max(width, self.width), pen), 0
        for text, its_pen in self.runs:
            x = canvas.put(x, text, its_pen)
        return canvas.line(width)


class Canvas:
    """A line of cells that text is put on; what does not fit is cut off at both ends."""

    def __init__(self, width: int, pen: Pen, fill: str = " ") -> None:
        self.fill = fill
        self.pen = pen
        self.characters = [fill] * width
        self.pens = [pen] * width

    def copy(self) -> Canvas:
        """Another one with the same on it."""
        other = Canvas(0, self.pen, self.fill)
        other.characters, other.pens = self.characters.copy(), self.pens.copy()
        return other

    def put(self, x: int, text: str, pen: Pen) -> int:
        """Write text at a cell and return the cell after it.

        A wide character takes two cells, and one that combines joins the character before it; of a wide character
        that is cut, the other half becomes blank.
        """
        end = x + len(text)
        if text and text.isascii() and text.isprintable() and x >= 0 and end <= len(self.characters):
            self._clear_half(x, end)
            self.characters[x:end] = text
            self.pens[x:end] = [pen] * len(text)
            return end
        for character in text:
            width = cells_of(character)
            if width == 0 and 0 < x <= len(self.characters):
                self.characters[x - 1 - (self.characters[x - 1] == "")] += character
            elif width and x >= 0 and x + width <= len(self.characters):
                self._clear_half(x, x + width)
                self.characters[x : x + width] = [character, ""][:width]
                self.pens[x : x + width] = [pen] * width
            x += width
        return x

    def is_blank(self, start: int, end: int) -> bool:
        """Whether nothing is written on the cells from `start` up to `end`."""
        return all(character == self.fill for character in self.characters[max(start, 0) : end])

    def _clear_half(self, start: int, end: int) -> None:
        """Blank the halves of wide characters that stand out of the cells from `start` up to `end`."""
        if start and self.characters[start] == "":
            self.characters[start - 1] = " "
        if end < len(self.characters) and self.characters[end] == "":
            self.characters[end] = " "

    def lay_over(self, start: int, end: int, pen: Pen) -> None:
        """Lay a pen over those of the cells from `start` up to `end`, which keep what it does not say."""
        for x in range(max(start, 0), min(end, len(self.pens))):
            self.pens[x] = self.pens[x].under(pen)

    def take_pen(self, start: int, end: int, pen: Pen) -> None:
        """Give the cells from `start` up to `end` a pen in the place of theirs."""
        for x in range(max(start, 0), min(end, len(self.pens))):
            self.pens[x] = pen

    def leave_out(self, start: int, end: int) -> None:
        """Take the cells from `start` up to `end` away."""
        if start < end:
            self._clear_half(start, end)
        del self.characters[start:end], self.pens[start:end]

    def line(self, width: int | None = None, pen: Pen | None = None) -> Line:
        """The line, cut off or made longer with blanks of a pen where another width is asked for."""
        width = len(self.characters) if width is None else width
        if 0 < width < len(self.characters):
            self._clear_half(0, width)
        more = width - len(self.characters)
        characters = self.characters[:width] + [" "] * more
        pens = self.pens[:width] + [pen or self.pen] * more
        runs: list[tuple[str, Pen]] = []
        start = 0
        for x in range(1, width + 1):
            if x == width or pens[x] is not pens[start]:
                runs.append(("".join(characters[start:x]), pens[start]))
                start = x
        return Line(tuple(runs), width)


def blank_line(width: int, pen: Pen) -> Line:
    """A line with nothing on it."""
    return Canvas(width, pen).line()


def cells_of(character: str) -> int:
    """How many cells a character takes."""
    if character in NARROW or (character.isascii() and character.isprintable()):
        return 1
    from rich.cells import cell_len  # here, as the first picture does without

    return cell_len(character)
