"""The table of keys in Markdown, drawn from the registry and a key map."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.workspace.keymap import ANYWHERE
from tabterm.workspace.registry import REGISTRY, Group

if TYPE_CHECKING:
    from tabterm.workspace.keymap import Keymap


def key_table(keymap: Keymap) -> str:
    """Every command by group: its keys with their words, what it does, its name for the configuration file."""
    lines: list[str] = []
    for group in Group:
        lines += [f"## {group.value}", "", "| keys | what it does | command |", "|---|---|---|"]
        for command in REGISTRY.values():
            if command.group is group:
                keys = ", ".join(
                    _code(key) + f" {word}".rstrip() + ("" if context == ANYWHERE else f" ({context} row)")
                    for context, key, word in keymap.keys_of(command.name)
                )
                lines.append(f"| {keys} | {command.title} | `{command.name}` |")
        lines.append("")
    return "\n".join(lines)


def _code(key: str) -> str:
    """A key as Markdown code that may hold a back-tick or a bar."""
    shown = key.replace("|", "\\|")
    return f"`` {shown} ``" if "`" in shown else f"`{shown}`"
