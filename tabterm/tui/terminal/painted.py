"""Widgets whose lines we paint ourselves: what changes goes into the wire past the toolkit's compositor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.segment import Segment
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tabterm.tui.terminal.application import TerminalApp
from tabterm.tui.terminal.brush import style_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.tui.canvas import Line


class Painted(Widget):
    """A widget of lines; the toolkit asks for them where it lays out anew or something lies over them."""

    def line(self, y: int) -> Line:
        """A line as it should be now."""
        raise NotImplementedError

    def render_line(self, y: int) -> Strip:
        """The same for the toolkit."""
        line = self.line(y)
        return Strip([Segment(text, style_of(pen)) for text, pen in line.runs], line.width)

    def repaint(self, lines: Iterable[int]) -> None:
        """Show some lines anew: at once where nothing lies over them, else by way of the toolkit."""
        changed, app = list(lines), self.app
        if not changed:
            return
        if isinstance(app, TerminalApp) and (free := app.free_region(self)) is not None:
            regions = [Region(0, y, free.width, 1) for y in changed if 0 <= y < free.height]
            self._styles_cache.set_dirty(*regions)
            app.put([(free.x, free.y + region.y, self.line(region.y)) for region in regions])
        elif regions := [Region(0, y, self.size.width, 1) for y in changed if 0 <= y < self.size.height]:
            self.refresh(*regions)
