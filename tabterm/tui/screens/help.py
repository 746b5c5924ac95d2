"""The help screen: every command with its keys, drawn from the registry."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.console import Group as Sheet
from rich.table import Table
from rich.text import Text
from textual.containers import VerticalScroll
from textual.widgets import Static

from tabterm.piece.cautions import CAUTION
from tabterm.tui.terminal.typed import Panel
from tabterm.workspace.keymap import ANYWHERE
from tabterm.workspace.registry import REGISTRY, Group

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tabterm.workspace.keymap import Keymap


def help_text(keymap: Keymap, *, narrow: bool = False) -> Sheet:
    """Every group with its commands.

    A key that gives a word has it behind it, and one of a row of its own is marked with the row.
    On a narrow screen the names of the commands are left out.
    """
    parts: list[Table | Text] = []
    for group in Group:
        table = Table.grid(padding=(0, 1))
        table.add_column(width=11 if narrow else 22, style="bold")
        table.add_column()
        for command in REGISTRY.values():
            if command.group is group:
                keys = "  ".join(
                    f"{key} {word}".rstrip() + ("" if context == ANYWHERE else f" ({context} row)")
                    for context, key, word in keymap.keys_of(command.name)
                )
                title = Text(command.title)
                table.add_row(Text(keys), title if narrow else title.append(f"  {command.name}", style="dim"))
        parts += [Text(f"\n{group.value}", style="bold"), table]
    return Sheet(*parts, Text(f"\n{CAUTION}"))


class HelpScreen(Panel[None]):
    """Scrolls with the arrows; any of Escape, ? and q closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss", "close"),
        ("question_mark", "dismiss", "close"),
        ("q", "dismiss", "close"),
    ]

    def __init__(self, keymap: Keymap) -> None:
        super().__init__()
        self.keymap = keymap

    def compose(self) -> ComposeResult:
        """One long text in a scrolling box."""
        with VerticalScroll(classes="sheet"):
            yield Static(Text("Keys (Escape closes)", style="bold"))
            yield Static(help_text(self.keymap, narrow=self.app.has_class("tight")))
