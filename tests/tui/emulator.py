"""An emulated terminal for comparing screens: pyte's, with the faint attribute that it leaves out."""

from __future__ import annotations

import pyte


class Emulator(pyte.Screen):
    """Shows faint text as blinking, which nothing of ours is."""

    def select_graphic_rendition(self, *attributes: int) -> None:
        translated: list[int] = []
        rest = list(attributes)
        while rest:
            number = rest.pop(0)
            if number in {38, 48}:
                taken = 4 if rest[:1] == [2] else 2
                translated += [number, *rest[:taken]]
                del rest[:taken]
            else:
                translated += {2: [5], 22: [22, 25]}.get(number, [number])
        super().select_graphic_rendition(*translated)

    def cells(self) -> list[list[tuple]]:
        """What is seen in each cell; of a blank only what shows without ink."""
        return [[_seen(self.buffer[y][x]) for x in range(self.columns)] for y in range(self.lines)]


def _seen(cell) -> tuple:
    if cell.data == " ":
        marks = (cell.underscore, cell.strikethrough, cell.reverse)
        return (" ", cell.bg, marks, cell.fg if any(marks) else "default")
    return tuple(cell)
