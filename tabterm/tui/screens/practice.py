"""What has been practised of the piece: its passages, and the tempo of the chosen one over the days."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.screen import ModalScreen
from textual.widgets import Static

from tabterm.errors import StorageError
from tabterm.piece.practice_graph import PractisedPassage, page, passages, words
from tabterm.tui.keys import key_name

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.events import Key

    from tabterm.workspace.session import Session


class PracticeScreen(ModalScreen[None]):
    """Up and down choose a passage; Escape closes."""

    MOVES: ClassVar[dict[str, int]] = {"up": -1, "down": 1, "pageup": -8, "pagedown": 8}
    CLOSES = frozenset({"escape", "enter", "q", "Y"})

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._chosen = 0
        self._passages: tuple[PractisedPassage, ...] = ()
        self._trouble = ""

    def compose(self) -> ComposeResult:
        """One sheet of text, drawn for its size."""
        sheet = Static(classes="sheet", id="log", markup=False)
        sheet.border_title = "Practice (arrows choose, Escape closes)"
        yield sheet

    def on_mount(self) -> None:
        """Read the log."""
        try:
            self._passages = passages(self._session.rehearsal.entries())
        except StorageError as error:
            self._trouble = str(error)

    def on_resize(self) -> None:
        """Draw for the size."""
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        sheet = self.query_one("#log", Static)
        lines = self._lines(sheet.content_size.width, sheet.content_size.height)
        sheet.update(Text("\n".join(lines), no_wrap=True))

    def _lines(self, width: int, height: int) -> list[str]:
        title = self._session.score.head.title or self._session.document.path.name
        if self._trouble:
            return [title, "", self._trouble]
        lines = page(title, self._passages, self._chosen, width, height)
        if self._session.shown.plain and self._passages:
            chosen = self._passages[self._chosen]
            return [lines[0], str(chosen), *words(chosen)[-max(height - 2, 1) :]]
        return lines

    async def take_key(self, event: Key) -> None:
        """Carry a key out."""
        key = key_name(event)
        if key in self.CLOSES:
            self.dismiss(None)
        elif self._passages and key in self.MOVES:
            self._chosen = min(max(self._chosen + self.MOVES[key], 0), len(self._passages) - 1)
            self._draw()
