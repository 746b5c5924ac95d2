"""`tabterm keys`: the editor's keys, with the player's own bindings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import add_json
from tabterm.cli.output import tell
from tabterm.cli.scores import in_default, settings
from tabterm.cli.tables import is_read_by_a_person, print_table
from tabterm.piece import configuration
from tabterm.workspace.keymap import ANYWHERE, Keymap
from tabterm.workspace.registry import REGISTRY, Group

if TYPE_CHECKING:
    import argparse

    from tabterm.workspace.registry import Command


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the argument."""
    add_json(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the keys, a table for each group."""
    keymap = Keymap(settings().keys, configuration.place_of)
    for fault in keymap.faults:
        tell(in_default(fault))
    if arguments.json:
        print(printable.as_json([_as_data(keymap, command) for command in REGISTRY.values()], indent=2))
    else:
        for group in Group:
            commands = [command for command in REGISTRY.values() if command.group is group]
            rows = [(_keys(keymap, command), command.name, command.title) for command in commands]
            print_table(("keys", "command", group.value), rows)
            if is_read_by_a_person():
                print()
    return 0


def _keys(keymap: Keymap, command: Command) -> str:
    return ", ".join(
        f"{key} {word}".rstrip() + ("" if row == ANYWHERE else f" ({row} row)")
        for row, key, word in keymap.keys_of(command.name)
    )


def _as_data(keymap: Keymap, command: Command) -> dict[str, object]:
    keys = [{"row": row, "key": key, "word": word} for row, key, word in keymap.keys_of(command.name)]
    return {"command": command.name, "title": command.title, "group": command.group.value, "keys": keys}
