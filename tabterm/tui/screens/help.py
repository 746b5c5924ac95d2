"""The help screen: every command with its keys, drawn from the registry."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from tabterm.workspace.cautions import CAUTION
from tabterm.workspace.keymap import ANYWHERE
from tabterm.workspace.registry import REGISTRY, Group

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tabterm.workspace.keymap import Keymap


def help_text(keymap: Keymap) -> Text:
    """Every group with its commands; keys on a row of their own are marked with the row."""
    text = Text()
    for group in Group:
        text.append(f"\n{group.value}\n", style="bold")
        for command in REGISTRY.values():
            if command.group is group:
                keys = "  ".join(
                    key if context == ANYWHERE else f"{key} ({context} row)"
                    for context, key in keymap.keys_of(command.name)
                )
                text.append(f"  {keys:<22}", style="bold" if keys else "dim")
                text.append(f" {command.title}  ")
                text.append(f"{command.name}\n", style="dim")
    text.append(f"\n{CAUTION}\n")
    return text


class HelpScreen(ModalScreen[None]):
    """Scrolls with the arrows; any of Escape, ? and q closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss", "close"),
        ("question_mark", "dismiss", "close"),
        ("q", "dismiss", "close"),
    ]

    def __init__(self, keymap: Keymap) -> None:
        super().__init__()
        self._keymap = keymap

    def compose(self) -> ComposeResult:
        """One long text in a scrolling box."""
        with VerticalScroll(classes="sheet"):
            yield Static(Text("Keys (Escape closes)", style="bold"))
            yield Static(help_text(self._keymap))
