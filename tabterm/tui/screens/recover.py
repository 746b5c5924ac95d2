"""Unsaved work that was put aside, to be taken into the score."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import Vertical
from textual.widgets import Static

from tabterm.tui.terminal.typed import Panel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tabterm.workspace.drafts import Draft

MOST = 9
"""Drafts that have a key; the newest."""


class RecoverScreen(Panel["Draft | None"]):
    """Gives the draft to take in, or None."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *((str(number), f"choose({number})", "take in") for number in range(1, MOST + 1)),
        ("escape", "dismiss(None)", "later"),
    ]

    def __init__(self, drafts: Sequence[Draft]) -> None:
        super().__init__()
        self._drafts = list(drafts[:MOST])

    def compose(self) -> ComposeResult:
        """One line for each, the newest first."""
        lines = [f"{number}       {draft.said}" for number, draft in enumerate(self._drafts, 1)]
        with Vertical(classes="sheet small"):
            yield Static("Unsaved work of this file was put aside.\n", markup=False)
            yield Static(
                "\n".join([*lines, "Escape  leave it; the command 'recover' lists it again"]),
                markup=False,
            )

    def action_choose(self, number: int) -> None:
        """Choose a draft that is listed."""
        if number <= len(self._drafts):
            self.dismiss(self._drafts[number - 1])
