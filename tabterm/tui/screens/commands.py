"""The commands: the help with all of them and their keys, and the palette that finds one by words and runs it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.console import Group as Sheet
from rich.table import Table
from rich.text import Text
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from tabterm.piece.practice import CAUTION
from tabterm.tui.terminal.typed import Awaited, Panel, Typing
from tabterm.workspace.keymap import ANYWHERE
from tabterm.workspace.registry import REGISTRY, Group, matching

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Key

    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.registry import Command


NARROW, WIDE = 11, 22
"""Cells for the keys of a command."""


def in_lines(keys: Sequence[str], width: int) -> str:
    """Keys with their words in lines of a width; none is torn from its word."""
    lines = [""]
    for key in keys:
        fits = len(f"{lines[-1]}  {key}") <= width
        lines = [*lines[:-1], f"{lines[-1]}  {key}".strip()] if fits or not lines[-1] else [*lines, key]
    return "\n".join(lines)


def help_text(keymap: Keymap, *, narrow: bool = False, words: str = "") -> Sheet:
    """Every group with its commands, or those of them that have some words.

    A key that gives a word has it behind it, and one of a row of its own is marked with the row.
    On a narrow screen the names of the commands are left out.
    """
    parts: list[Table | Text] = []
    wanted = {command.name for command in matching(words)}
    for group in Group:
        table = Table.grid(padding=(0, 1))
        table.add_column(width=NARROW if narrow else WIDE, style="bold")
        table.add_column()
        for command in REGISTRY.values():
            if command.group is group and command.name in wanted:
                keys = [
                    f"{key} {word}".rstrip() + ("" if context == ANYWHERE else f" ({context} row)")
                    for context, key, word in keymap.keys_of(command.name)
                ]
                title = Text(command.title)
                if not narrow:
                    title.append(f"  {command.name}", style="dim")
                table.add_row(Text(in_lines(keys, NARROW if narrow else WIDE)), title)
        if table.row_count:
            parts += [Text(f"\n{group.value}", style="bold"), table]
    nothing = [] if parts else [Text(f"\nno command matches '{words.strip()}'; try another word")]
    return Sheet(*parts, *nothing, Text(f"\n{CAUTION}"))


class HelpScreen(Panel[None]):
    """Scrolls with the arrows; / searches it; any of Escape, ? and q closes it."""

    OPENER = "help"
    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss", "close"),
        ("question_mark", "dismiss", "close"),
        ("q", "dismiss", "close"),
        ("slash", "search", "search"),
    ]

    def __init__(self, keymap: Keymap) -> None:
        super().__init__()
        self.keymap = keymap
        self._search: str | None = None

    def compose(self) -> ComposeResult:
        """One long text in a scrolling box."""
        with VerticalScroll(classes="sheet") as sheet:
            sheet.border_title = "Keys (Escape closes, / searches)"
            yield Static(self._text())

    def _text(self) -> Sheet:
        return help_text(self.keymap, narrow=self.app.has_class("tight"), words=self._search or "")

    async def take_key(self, event: Key) -> None:
        """Carry a key out; while it is searched, a character narrows it and Enter leaves what was found."""
        if self._search is None or event.key in {"escape", "up", "down", "pageup", "pagedown", "home", "end"}:
            await super().take_key(event)
        elif event.key == "backspace":
            self._find(self._search[:-1])
        elif event.is_printable and event.character is not None:
            self._find(self._search + event.character)

    def action_search(self) -> None:
        """Type words of a command from here on."""
        self._find("")

    def _find(self, words: str) -> None:
        self._search = words
        sheet = self.query_one(VerticalScroll)
        sheet.border_title = f"Keys with: {words}_ (Escape closes)"
        sheet.scroll_home(animate=False)
        self.query_one(Static).update(self._text())


KEYS_SHOWN, KEYS_ROOM = 4, 11
"""Keys of a command that are shown with it, and the cells kept for them."""


class PaletteScreen(Awaited[str | None]):
    """Type words, choose with the arrows, Enter runs; gives the command's name, or None."""

    OPENER = "find-command"
    BINDINGS: ClassVar[list[BindingType]] = [
        ("enter", "choose", "run"),
        ("escape", "dismiss", "close"),
        ("down", "move(1)", "next"),
        ("up", "move(-1)", "previous"),
    ]

    def __init__(self, keymap: Keymap) -> None:
        super().__init__()
        self.keymap = keymap
        self._words: str | None = None

    def compose(self) -> ComposeResult:
        """A line to type in, and what it finds."""
        with Vertical(classes="sheet") as sheet:
            sheet.border_title = "Commands (Enter runs)"
            yield Typing(placeholder="name of a command, or what it does", compact=True)
            yield OptionList(compact=True)

    def begin(self) -> None:
        """Start with every command."""
        self.query_one(OptionList).can_focus = False
        self._fill("")

    def _fill(self, words: str) -> None:
        """List what the words find; what was chosen stays so while the words are the same."""
        if words == self._words:
            return
        self._words = words
        options = self.query_one(OptionList)
        options.clear_options()
        found = matching(words)
        options.add_options([self._option(command) for command in found])
        if not found:
            options.add_option(Option(f"no command matches '{words.strip()}'; try another word", disabled=True))
        options.highlighted = 0 if found else None

    def _option(self, command: Command) -> Option:
        keys = " ".join(key for _, key, _ in self.keymap.keys_of(command.name)[:KEYS_SHOWN])
        if self.app.has_class("tight"):
            text = Text.assemble((command.name, "bold"), f" ({keys})" if keys else "", f"  {command.title}")
        else:
            name = max(map(len, REGISTRY))
            text = Text.assemble((f"{command.name:<{name}} ", "bold"), f"{keys:<{KEYS_ROOM}} ", command.title)
        return Option(text, id=command.name)

    async def carry_out(self, event: Key) -> None:
        """Type it, or carry out what it is bound to."""
        await self.query_one(Typing).take_key(event)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Narrow the list."""
        self._fill(event.value)

    def action_choose(self) -> None:
        """Run what is chosen."""
        self._fill(self.query_one(Typing).value)
        options = self.query_one(OptionList)
        if options.highlighted is not None:
            self.dismiss(options.get_option_at_index(options.highlighted).id)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Run what was pointed at."""
        self.dismiss(event.option.id)

    def action_move(self, by: int) -> None:
        """Choose the next or the previous command."""
        options = self.query_one(OptionList)
        if matching(self._words or ""):
            options.highlighted = ((options.highlighted or 0) + by) % options.option_count
