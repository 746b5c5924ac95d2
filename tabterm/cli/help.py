"""`tabterm help [COMMAND|PAGE]`: the same as `--help`, or a page of those that came with the program."""

from __future__ import annotations

from difflib import get_close_matches
from textwrap import fill
from typing import TYPE_CHECKING

from tabterm.cli.examples import PAGES
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    import argparse

ENDING = ".md"
"""Of a page; it tells the page `sheet.md` from the command `sheet`."""

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
    page = PAGES / f"{(name or '').removesuffix(ENDING)}{ENDING}"
    if name in COMMANDS:
        print(build_parser(name).of_command(name).format_help(), end="")
    elif page in PAGES.glob(f"*{ENDING}"):
        print(page.read_text(encoding="utf-8"), end="")
    elif name is not None:
        close = get_close_matches(name, [*COMMANDS, *found], n=1)
        hint = f"did you mean '{close[0]}'?" if close else "`tabterm help` lists the commands and pages"
        raise TabtermError(f"no command or page '{name}'", hint=hint)
    else:
        print(build_parser(None).format_help(), end="")
        print(f"\nPages to read with `tabterm help PAGE`, or as files in {PAGES}:")
        print(fill(", ".join(found), WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False))
    return 0


def pages() -> list[str]:
    """The pages by name, one that is named as a command is with its ending: `tutorial`, `sheet.md`."""
    from tabterm.cli.subcommands import COMMANDS

    return sorted(page.name if page.stem in COMMANDS else page.stem for page in PAGES.glob(f"*{ENDING}"))
