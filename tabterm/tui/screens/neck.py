"""The whole neck, to scale: the chord at the cursor, what its phrase is made of, double stops, positions."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.screen import ModalScreen
from textual.widgets import Static

from tabterm.page.neck_map import in_words, placed, text_of
from tabterm.page.neck_views import views
from tabterm.tui.keys import key_name

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.events import Key

    from tabterm.page.neck_map import NeckMap
    from tabterm.workspace.session import Session


class NeckScreen(ModalScreen[None]):
    """Left and right go through what there is to see, n writes names for degrees; Escape closes."""

    MOVES: ClassVar[dict[str, int]] = {"left": -1, "right": 1, "up": -1, "down": 1}
    CLOSES = frozenset({"escape", "enter", "q", "ctrl+n"})

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._chosen = 0
        self._names = False
        self._maps = self._views()

    def _views(self) -> list[NeckMap]:
        session = self._session
        return views(session.score, session.player, session.here.cursor.place, names=self._names)

    def compose(self) -> ComposeResult:
        """One sheet of text, drawn for its size."""
        sheet = Static(classes="sheet", id="neck-map", markup=False)
        sheet.border_title = "Neck (arrows: other views, n: names, Escape closes)"
        yield sheet

    def on_resize(self) -> None:
        """Draw for the size."""
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        sheet = self.query_one("#neck-map", Static)
        shown = self._maps[self._chosen]
        drawn = in_words(shown) if self._session.shown.plain else text_of(shown, sheet.content_size.width)
        count = f"{self._chosen + 1} of {len(self._maps)}: {shown.title}"
        lines = [Text(line) for line in (count, "", *drawn)]
        for mark, x, text in () if self._session.shown.plain else placed(shown, sheet.content_size.width):
            if mark.root:
                lines[2 + mark.course].stylize("bold reverse", x, x + len(text))
        sheet.update(Text("\n", no_wrap=True).join(lines))

    async def take_key(self, event: Key) -> None:
        """Carry a key out."""
        key = key_name(event)
        if key in self.CLOSES:
            self.dismiss(None)
        elif key in self.MOVES:
            self._chosen = (self._chosen + self.MOVES[key]) % len(self._maps)
            self._draw()
        elif key == "n":
            self._names = not self._names
            self._maps = self._views()
            self._draw()
