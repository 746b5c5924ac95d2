"""The `tabterm` command: finds the sub-command, loads only its module, and turns errors into one line."""

from __future__ import annotations

import argparse
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from tabterm import collector, printable
from tabterm.cli.examples import STATUS, epilog
from tabterm.cli.output import add_manner, complain, guard, note, paged, take_manner
from tabterm.cli.subcommands import COMMANDS, FORMER
from tabterm.errors import TabtermError, lacking
from tabterm.version import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.cli.subcommands import SubCommand

OWN_OPTIONS = ("-h", "--help", "-V", "--version")
"""Options of the program itself; anything else that names no command goes to the editor."""

BAD_INPUT = 2
INTERRUPTED = 130

CAUTION = "Stop when something hurts, and ask a teacher or doctor."


_NO_NUMBER = re.compile(r"invalid (?:int|float) value: '(.*)'$")


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        """End with one line and the exit status of bad input."""
        plain = _NO_NUMBER.sub(lambda found: f"not a number: {printable.number(found[1])}", message)
        complain(f"{plain.removeprefix('argument ')} (see `{self.prog} --help`)")
        self.exit(BAD_INPUT)

    def of_command(self, name: str) -> argparse.ArgumentParser:
        """The parser of a command."""
        (commands,) = (each for each in self._actions if isinstance(each, argparse._SubParsersAction))  # noqa: SLF001 - the library has no other way to what it has made
        found: argparse.ArgumentParser = commands.choices[name]
        return found


def build_parser(*chosen: str | None) -> Parser:
    """Build the parser; only the chosen sub-commands' modules are imported, the others show their help line."""
    parser = Parser(
        prog="tabterm",
        description="A mandolin tab editor for the terminal, with fingers, pick strokes and playback.",
        epilog=f"`tabterm FILE` opens the editor. {CAUTION}\n\n{STATUS}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("-V", "--version", action="version", version=f"tabterm {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, entry in COMMANDS.items():
        sub = commands.add_parser(
            name,
            help=entry.help,
            description=entry.help,
            epilog=epilog(name),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if name in chosen:
            _load(name).configure(sub)
            add_manner(sub)
    return parser


def main(arguments: Sequence[str]) -> int:
    """Run with the words after the program's name; return the exit status."""
    words = list(arguments)
    if words and words[0] in FORMER:
        command, *more = FORMER[words[0]]
        note(f"tabterm: `{words[0]}` is now `{' '.join((command, *more))}`")
        words = [command, *words[1:], *more]
    names_command = bool(words) and words[0] in {*COMMANDS, *OWN_OPTIONS}
    if not names_command:
        words.insert(0, "edit")
    try:
        parser = build_parser(words[0] if words[0] in COMMANDS else None)
        parsed, too_many = _parsed(parser, words)
        if too_many:
            _refuse(parser, too_many, None if names_command else parsed.file)
        status = _run(parsed)
    except TabtermError as error:
        complain(str(error))
        return BAD_INPUT
    except ModuleNotFoundError as error:
        complain(str(lacking(error)))
        return BAD_INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone (`tabterm show x | head`): nobody is left to tell.
        _print_no_more()
        return 0
    except OSError as error:
        place = f"{error.filename}: " if error.filename is not None else ""
        complain(f"{place}{error.strerror or error}")
        _print_no_more()
        return BAD_INPUT
    return status


def _run(parsed: argparse.Namespace) -> int:
    """Run the chosen command in the manner that is asked for; what is long to read goes through the pager."""
    take_manner(parsed)
    with paged(wanted=COMMANDS[parsed.command].paged and not getattr(parsed, "copy", False)):
        status = _load(parsed.command).run(parsed)
        _flush()
    return status


def _parsed(parser: Parser, words: list[str]) -> tuple[argparse.Namespace, list[str]]:
    """The arguments, and words that make no sense; files may stand between options, as in GNU's."""
    parsed, too_many = parser.parse_known_args(words)
    if "files" in parsed and not any(word.startswith("-") and word != "-" for word in too_many):
        parsed.files += map(Path, too_many)
        too_many = []
    return parsed, too_many


def _refuse(parser: Parser, too_many: list[str], file: Path | None) -> NoReturn:
    """Say which words make no sense; where no command was named, the file before them may be one misspelled."""
    if file is None or file.exists() or all(word.startswith("-") for word in too_many):
        parser.error(f"unrecognized arguments: {' '.join(too_many)}")
    from difflib import get_close_matches

    close = get_close_matches(str(file), COMMANDS, n=1)
    hint = f"did you mean '{close[0]}'?" if close else "`tabterm --help` lists the commands"
    complain(f"no command '{file}', and no such file ({hint})")
    parser.exit(BAD_INPUT)


def _print_no_more() -> None:
    """Drop what was printed and not taken, instead of trying again at the end."""
    try:
        _flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _flush() -> None:
    if sys.stdout is not None:
        sys.stdout.flush()


def _load(name: str) -> SubCommand:
    with collector.at_rest():
        return COMMANDS[name].load()


def run() -> None:
    """Entry point of the installed command.

    The matrices of the ear are small: a second thread of numpy's library multiplies them no sooner; its waiting
    takes a core from keys and sound (measured here: six times the processor time on two loaded cores).
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    guard()
    sys.exit(main(sys.argv[1:]))
