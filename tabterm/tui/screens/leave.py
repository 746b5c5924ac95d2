"""The question before leaving with unsaved work."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import Vertical
from textual.widgets import Static

from tabterm.tui.terminal.typed import Panel

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType


class LeaveScreen(Panel[str | None]):
    """Gives `save`, `draft` or `discard`, or None to stay."""

    BINDINGS: ClassVar[list[BindingType]] = [
        ("s", "dismiss('save')", "save"),
        ("k", "dismiss('draft')", "keep"),
        ("x", "dismiss('discard')", "discard"),
        ("escape", "dismiss(None)", "stay"),
    ]

    def __init__(self, name: str) -> None:
        super().__init__()
        self.file_name = name

    def compose(self) -> ComposeResult:
        """The three ways out, and the way back."""
        with Vertical(classes="sheet small"):
            yield Static(f"{self.file_name} has changes that are not saved.\n", markup=False)
            yield Static(
                "s       save and leave\n"
                "k       leave and keep the changes for next time, beside the file\n"
                "x       leave and throw the changes away\n"
                "Escape  stay",
                markup=False,
            )
