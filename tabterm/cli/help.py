"""`tabterm help [COMMAND|PAGE]`: the same as `--help`, or a page of those that came with the program."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import tabterm
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    import argparse

ROOM = Path(tabterm.__file__).parent / "docs"
"""Where the pages lie in the package."""


WIDTH = 78
"""Characters of a line."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the argument."""
    parser.add_argument(
        "about",
        nargs="?",
        metavar="COMMAND|PAGE",
        help="a command, or a page such as tutorial (without it: a list)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the help of a command, a page, or the commands and where the pages are."""
    from tabterm.cli.main import build_parser
    from tabterm.cli.subcommands import COMMANDS

    name, found = arguments.about, pages()
    if name in COMMANDS:
        print(build_parser(name).of_command(name).format_help(), end="")
    elif name in found:
        print((ROOM / f"{name}.md").read_text(encoding="utf-8"), end="")
    elif name is not None:
        close = get_close_matches(name, [*COMMANDS, *found], n=1)
        hint = f"did you mean '{close[0]}'?" if close else "`tabterm help` lists the commands and pages"
        raise TabtermError(f"no command or page '{name}'", hint=hint)
    else:
        print(build_parser(None).format_help(), end="")
        print(f"\nPages to read with `tabterm help PAGE`, or as files in {ROOM}:")
        print(fill(", ".join(found), WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False))
    return 0


def pages() -> list[str]:
    """Pages that have no command of their name."""
    from tabterm.cli.subcommands import COMMANDS

    return sorted(page.stem for page in ROOM.glob("*.md") if page.stem not in COMMANDS)
