"""Questions about work that could be lost: on leaving, before a changed file is replaced, on drafts put aside."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import Vertical
from textual.widgets import Static

from tabterm.tui.terminal.typed import Panel
from tabterm.workspace.outside import Doubt, words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tabterm.workspace.drafts import Draft


class LeaveScreen(Panel[str | None]):
    """Gives `save`, `draft` or `discard`, or None to stay."""

    ASKS = True
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
        with Vertical(classes="sheet small") as sheet:
            sheet.border_title = "Leave"
            yield Static(f"{self.file_name} has unsaved changes.\n", markup=False)
            yield Static(
                "s       save and quit\n"
                "k       quit and keep the changes for next time\n"
                "x       quit and discard the changes\n"
                "Escape  stay",
                markup=False,
            )


WAYS = {
    "save-beside": ("b", "keep both: save yours under a new name"),
    "take-theirs": ("t", "load the file; undo brings yours back"),
    "save-over": ("o", "save yours over it"),
}
"""The commands to choose from, with their keys."""


class DoubtScreen(Panel[str | None]):
    """Gives the name of a command, or None to decide later."""

    ASKS = True
    BINDINGS: ClassVar[list[BindingType]] = [
        *((key, f"choose('{name}')", name) for name, (key, _) in WAYS.items()),
        ("escape", "dismiss(None)", "later"),
    ]

    def __init__(self, doubt: Doubt, path: Path) -> None:
        super().__init__()
        self._question = words(doubt, path)
        self._ways = {name: way for name, way in WAYS.items() if name != "take-theirs" or doubt is Doubt.CHANGED}

    def compose(self) -> ComposeResult:
        """What has happened, and the ways on."""
        lines = [f"{key}       {text}" for key, text in self._ways.values()]
        with Vertical(classes="sheet small") as sheet:
            sheet.border_title = "The file on disk"
            yield Static(f"{self._question}.\n", markup=False)
            yield Static("\n".join([*lines, "Escape  decide later; nothing is written"]), markup=False)

    def action_choose(self, name: str) -> None:
        """Choose a way that is offered."""
        if name in self._ways:
            self.dismiss(name)


MOST_DRAFTS = 9
"""Drafts that have a key; the newest."""


class RecoverScreen(Panel["Draft | None"]):
    """Gives the draft to take in, or None."""

    ASKS = True
    BINDINGS: ClassVar[list[BindingType]] = [
        *((str(number), f"choose({number})", "take in") for number in range(1, MOST_DRAFTS + 1)),
        ("escape", "dismiss(None)", "later"),
    ]

    def __init__(self, drafts: Sequence[Draft]) -> None:
        super().__init__()
        self._drafts = list(drafts[:MOST_DRAFTS])

    def compose(self) -> ComposeResult:
        """One line for each, the newest first."""
        lines = [f"{number}       {draft.said}" for number, draft in enumerate(self._drafts, 1)]
        with Vertical(classes="sheet small") as sheet:
            sheet.border_title = "Unsaved work"
            yield Static("This file has unsaved work that was put aside.\n", markup=False)
            yield Static(
                "\n".join([*lines, "Escape  not now; the command 'recover' lists it again"]),
                markup=False,
            )

    def action_choose(self, number: int) -> None:
        """Choose a draft that is listed."""
        if number <= len(self._drafts):
            self.dismiss(self._drafts[number - 1])
