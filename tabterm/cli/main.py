"""The `tabterm` command: finds the sub-command, loads only its module, and turns errors into one line."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn, Protocol, cast

from tabterm import collector
from tabterm.cli.output import guard, tell
from tabterm.errors import TabtermError
from tabterm.version import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence

OWN_OPTIONS = ("-h", "--help", "--version")
"""Options of the program itself; anything else that names no command goes to the editor."""

BAD_INPUT = 2
INTERRUPTED = 130


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        """End with one line and the exit status of bad input."""
        tell(f"tabterm: {message.removeprefix('argument ')} (`{self.prog} --help` says more)")
        self.exit(BAD_INPUT)


class SubCommand(Protocol):
    """What a module in this folder offers."""

    def configure(self, parser: argparse.ArgumentParser) -> None:
        """Add the arguments."""

    def run(self, arguments: argparse.Namespace) -> int:
        """Do the work and return the exit status."""


@dataclass(frozen=True)
class Entry:
    """A sub-command as the help shows it; the module is loaded only when it runs."""

    module: str
    help: str


COMMANDS: dict[str, Entry] = {
    "edit": Entry("tabterm.cli.edit", "open the editor on a file (`tabterm FILE` does the same)"),
    "show": Entry("tabterm.cli.show", "print a file as text tab"),
    "finger": Entry("tabterm.cli.finger", "work out a finger, and where it pays another course, for every note"),
    "strokes": Entry("tabterm.cli.strokes", "work out a stroke for every struck note, by a school of picking"),
    "check": Entry("tabterm.cli.check", "list what a hand cannot do or finds hard"),
    "hand": Entry("tabterm.cli.hand", "show or set your hand: span, weak fingers, speeds; write the speed drills"),
    "hard": Entry("tabterm.cli.hard", "name the hardest passages, why they are hard, and a drill for each"),
    "play": Entry("tabterm.cli.play", "play a file, or some measures of it, once or to practise them"),
    "listen": Entry("tabterm.cli.listen", "play here what an editor on another machine sends through ssh"),
    "log": Entry("tabterm.cli.log", "show what has been practised, and write it as a CSV file"),
    "render": Entry("tabterm.cli.render", "write what is heard into a file: WAV, FLAC, Ogg Vorbis, MP3 or MIDI"),
    "pack": Entry("tabterm.cli.pack", "make a folder to practise with: several tempos, with and without the solo"),
    "convert": Entry("tabterm.cli.convert", "write a file in another format, chosen by its ending"),
    "compare": Entry("tabterm.cli.compare", "list the notes that depart from the original line of a score"),
    "recover": Entry("tabterm.cli.recover", "list unsaved work that was put aside, and write it into a new file"),
    "ports": Entry("tabterm.cli.ports", "list the audio devices and MIDI ports that can be played to"),
    "keys": Entry("tabterm.cli.keys", "print the editor's keys, with your own bindings"),
}


def build_parser(chosen: str | None) -> argparse.ArgumentParser:
    """Build the parser; only the chosen sub-command's module is imported, the others show their help line."""
    parser = Parser(
        prog="tabterm",
        description="A terminal tab editor with playback for four-course instruments tuned in fifths.",
        epilog="`tabterm FILE` opens the editor. Stop when something hurts, and ask a teacher or physician.",
    )
    parser.add_argument("--version", action="version", version=f"tabterm {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, entry in COMMANDS.items():
        sub = commands.add_parser(name, help=entry.help, description=entry.help)
        if name == chosen:
            _load(name).configure(sub)
    return parser


def main(arguments: Sequence[str]) -> int:
    """Run with the words after the program's name; return the exit status."""
    words = list(arguments)
    if not words or words[0] not in {*COMMANDS, *OWN_OPTIONS}:
        words.insert(0, "edit")
    parser = build_parser(words[0] if words[0] in COMMANDS else None)
    parsed = parser.parse_args(words)
    try:
        status = _load(parsed.command).run(parsed)
        _flush()
    except TabtermError as error:
        tell(f"tabterm: {error}")
        return BAD_INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone (`tabterm show x | head`): nobody is left to tell.
        _print_no_more()
        return 0
    except OSError as error:
        place = f"{error.filename}: " if error.filename is not None else ""
        tell(f"tabterm: {place}{error.strerror or error}")
        _print_no_more()
        return BAD_INPUT
    return status


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
        return cast("SubCommand", importlib.import_module(COMMANDS[name].module))


def run() -> None:
    """Entry point of the installed command."""
    guard()
    sys.exit(main(sys.argv[1:]))
