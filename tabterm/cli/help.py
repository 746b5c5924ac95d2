"""`tabterm help [COMMAND]`: the same as `--help`, in the order in which one asks for it."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from tabterm.errors import TabtermError

if TYPE_CHECKING:
    import argparse


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the argument."""
    parser.add_argument(
        "about", nargs="?", metavar="COMMAND", help="the command (without it: all commands, a line each)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the help of a command, or of the program."""
    from tabterm.cli.main import build_parser
    from tabterm.cli.subcommands import COMMANDS

    name = arguments.about
    if name is not None and name not in COMMANDS:
        close = get_close_matches(name, COMMANDS, n=1)
        hint = f"did you mean '{close[0]}'?" if close else "`tabterm help` lists the commands"
        raise TabtermError(f"no command '{name}'", hint=hint)
    parser = build_parser(name)
    print((parser.of_command(name) if name else parser).format_help(), end="")
    return 0
