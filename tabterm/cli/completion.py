"""`tabterm completion SHELL`: a script with which a shell completes commands, options and files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.errors import lacking

if TYPE_CHECKING:
    import argparse

    from tabterm.cli.subcommands import Listed

SHELLS = ("bash", "zsh", "fish")

FILES_FIRST = {"fish": '\ncomplete -c tabterm -n "__fish_use_subcommand" -F\n'}
"""What a script needs for files in place of a command, which open the editor; bash takes them by `-o default`."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the argument."""
    parser.add_argument("shell", choices=SHELLS, help="the shell to print the script for")


def _is_complete(listed: Listed) -> bool:
    """Whether the libraries of a command are installed; of others the name alone is completed."""
    try:
        listed.load()
    except ModuleNotFoundError as error:
        lacking(error)
        return False
    return True


def run(arguments: argparse.Namespace) -> int:
    """Print the script; it is made of the same table and parsers as the help."""
    import shtab

    from tabterm.cli.main import build_parser
    from tabterm.cli.subcommands import COMMANDS

    names = [name for name, listed in COMMANDS.items() if _is_complete(listed)]
    parser = build_parser(*names)
    for name in names:
        for action in parser.of_command(name)._actions:  # noqa: SLF001 - the library has no other way to its arguments
            if action.type is Path:
                action.complete = shtab.FILE  # type: ignore[attr-defined] # what the library of completion looks for
    script: str = shtab.complete(parser, shell=arguments.shell)
    script = script.replace("complete -o bashdefault", "complete -o bashdefault -o default")
    print(script + FILES_FIRST.get(arguments.shell, ""), end="")
    return 0
