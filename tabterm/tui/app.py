"""The editor's application: puts the widgets together and carries keys to commands."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar

from textual.app import App

from tabterm.tui.entry import Entry
from tabterm.tui.lines import MessageLine, NeckStrip, StatusLine
from tabterm.tui.score_view import ScoreView
from tabterm.tui.screens.findings import Choice, FindingsScreen, finding_line
from tabterm.tui.screens.help import HelpScreen
from tabterm.tui.screens.leave import LeaveScreen
from tabterm.tui.screens.palette import PaletteScreen
from tabterm.tui.theme import LOOKS
from tabterm.workspace.commands.trouble import finding_here
from tabterm.workspace.cursor import Row
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tabterm.hand.findings import Finding
    from tabterm.score.place import Place
    from tabterm.workspace.document import Document
    from tabterm.workspace.transport import Transport

IDLE_S = 0.25
"""How long the keys must rest before findings are worked out and the journal is forced to disk."""

PLAYHEAD_S = 0.1
"""How often the playhead is looked at while something sounds."""


class TabtermApp(App[None], inherit_bindings=False):
    """Shows one document; everything it knows of music is in the session."""

    CSS_PATH = "editor.tcss"
    BINDINGS: ClassVar[list[BindingType]] = []
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, document: Document, transport: Transport, keymap: Keymap, look: str = "dark") -> None:
        super().__init__(ansi_color=look == "terminal")
        self.theme = {"dark": "textual-dark", "light": "textual-light"}.get(look, "textual-ansi")
        self.session = Session(document, self, transport)
        self.keymap = keymap
        style = LOOKS[look]
        self.score_view = ScoreView(self.session, style, self.press)
        self.status_line = StatusLine(self.session, style)
        self.message_line = MessageLine(self.session, style)
        self.neck_strip = NeckStrip(self.session, style)
        self.entry = Entry()
        self._findings_of: object = None
        self._idle = self.set_timer
        self.wish = "draft"

    def compose(self) -> ComposeResult:
        """From top to bottom."""
        yield self.status_line
        yield self.score_view
        yield self.message_line
        yield self.neck_strip
        yield self.entry
