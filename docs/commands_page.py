"""The page of all commands, made from their parsers: what each takes, and examples; the man page is made of it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tabterm.cli.examples import EXAMPLES, STATUS
from tabterm.cli.main import build_parser
from tabterm.cli.output import add_manner
from tabterm.cli.scores import add_choice
from tabterm.cli.subcommands import COMMANDS

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

HEAD = """# All commands

```sh
tabterm help check     # the same in the terminal, for one command
```

`tabterm FILE` opens a score in the editor; `tabterm` alone offers a list to choose from. Every command has `-h`
for its help, and these options:

"""

CHOICES = """## Options for reading files

Commands that read scores have these options, for files with several tunes or parts and for other instruments:
"""

TWO = 2
"""So many of these options a command may have of its own."""


def _names(action: argparse.Action) -> str:
    """An argument as it is typed: its names and the word for its value."""
    value = (
        ""
        if action.nargs == 0
        else str(action.metavar or "|".join(map(str, action.choices or ())) or action.dest.upper())
    )
    if not action.option_strings:
        return f"`{value}`"
    return ", ".join(f"`{f'{name} {value}'.rstrip()}`" for name in action.option_strings)


def _arguments(parser: argparse.ArgumentParser, known: Collection[str]) -> Iterator[str]:
    """A line for each argument, but for those that are known."""
    formatter = parser.formatter_class(prog=parser.prog)
    for action in parser._actions:  # noqa: SLF001 - the library has no other way to what a parser takes
        if action.dest not in known and action.help != argparse.SUPPRESS:
            told = formatter._expand_help(action) if action.help else ""  # noqa: SLF001 - the words with defaults put in
            yield f"* {_names(action)}" + (f": {told}" if told else "")


def _parser(configure: Callable[[argparse.ArgumentParser], object]) -> argparse.ArgumentParser:
    """A parser with nothing but some arguments."""
    parser = argparse.ArgumentParser(prog="tabterm", add_help=False)
    configure(parser)
    return parser


def commands_page() -> str:
    """The page."""
    common, choice = list(_arguments(_parser(add_manner), ())), list(_arguments(_parser(add_choice), ()))
    lines = [HEAD.rstrip("\n"), "", *common, "", f"{STATUS[0].upper()}{STATUS[1:]}.", "", CHOICES, *choice, ""]
    for name, entry in COMMANDS.items():
        parser = build_parser(name).of_command(name)
        lines += [f"## {name}", "", f"{entry.help[0].upper()}{entry.help[1:]}.", ""]
        examples = EXAMPLES[name]
        widest = max(map(len, examples))
        lines += ["```sh", *(f"{typed:{widest}}  # {told}" for typed, told in examples.items()), "```", ""]
        taken = {line for line in _arguments(parser, {"help"}) if line not in common}
        lines += [line for line in _arguments(parser, {"help"}) if line in taken and line not in choice]
        lines += ["* the [options for reading files](#options-for-reading-files)"] * (len(taken & {*choice}) > TWO)
        lines += [""]
    return "\n".join(lines).rstrip("\n") + "\n"
