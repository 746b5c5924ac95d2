"""`tabterm keys`: the editor's keys, with the player's own bindings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.cli.output import tell
from tabterm.cli.scores import in_default, settings
from tabterm.piece import configuration
from tabterm.workspace.keymap import Keymap, key_table

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """No arguments."""
    del parser


def run(arguments: argparse.Namespace) -> int:
    """Print the table."""
    del arguments
    keymap = Keymap(settings().keys, configuration.place_of)
    for fault in keymap.faults:
        tell(in_default(fault))
    print(key_table(keymap), end="")
    return 0
