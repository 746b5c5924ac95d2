"""One line of the screen under construction: characters, each with a style."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.segment import Segment
from textual.strip import Strip

if TYPE_CHECKING:
    from rich.style import Style


class Canvas:
    """A line of cells that text is put on; what does not fit is cut off at both ends."""

    def __init__(self, width: int, style: Style, fill: str = " ") -> None:
        self.fill = fill
        self.characters = [fill] * width
        self.styles = [style] * width

    def put(self, x: int, text: str, style: Style) -> int:
        """Write text at a cell and return the cell after it.

        A wide character takes two cells, and one that combines joins the character before it; of a wide character
        that is cut, the other half becomes blank.
        """
        end = x + len(text)
        if text and text.isascii() and text.isprintable() and x >= 0 and end <= len(self.characters):
            self._clear_half(x, end)
            self.characters[x:end] = text
            self.styles[x:end] = [style] * len(text)
            return end
        for character in text:
            width = cell_len(character)
            if width == 0 and 0 < x <= len(self.characters):
                self.characters[x - 1 - (self.characters[x - 1] == "")] += character
            elif width and x >= 0 and x + width <= len(self.characters):
                self._clear_half(x, x + width)
                self.characters[x : x + width] = [character, ""][:width]
                self.styles[x : x + width] = [style] * width
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

    def restyle(self, start: int, end: int, style: Style) -> None:
        """Lay a style over the cells from `start` up to `end`, keeping what it does not say."""
        for x in range(max(start, 0), min(end, len(self.styles))):
            self.styles[x] = self.styles[x] + style

    def style(self, start: int, end: int, style: Style) -> None:
        """Give the cells from `start` up to `end` a style in the place of theirs."""
        for x in range(max(start, 0), min(end, len(self.styles))):
            self.styles[x] = style

    def strip(self) -> Strip:
        """The line as Textual wants it."""
        segments: list[Segment] = []
        start, styles = 0, self.styles
        for x in range(1, len(styles) + 1):
            if x == len(styles) or styles[x] is not styles[start]:
                segments.append(Segment("".join(self.characters[start:x]), styles[start]))
                start = x
        return Strip(segments, len(styles))
