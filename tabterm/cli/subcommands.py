"""The sub-commands: each with its line of help, and its module loaded only when it runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable


class SubCommand(Protocol):
    """What the module of a sub-command offers."""

    def configure(self, parser: argparse.ArgumentParser) -> None:
        """Add the arguments."""

    def run(self, arguments: argparse.Namespace) -> int:
        """Do the work and return the exit status."""


@dataclass(frozen=True)
class Listed:
    """A sub-command as the help shows it; what may be long to read goes through the pager."""

    load: Callable[[], SubCommand]
    help: str
    paged: bool = False


def _edit() -> SubCommand:
    from tabterm.cli import edit

    return edit


def _show() -> SubCommand:
    from tabterm.cli import show

    return show


def _finger() -> SubCommand:
    from tabterm.cli import finger

    return finger


def _strokes() -> SubCommand:
    from tabterm.cli import strokes

    return strokes


def _check() -> SubCommand:
    from tabterm.cli import check

    return check


def _hand() -> SubCommand:
    from tabterm.cli import hand

    return hand


def _hard() -> SubCommand:
    from tabterm.cli import hard

    return hard


def _explain() -> SubCommand:
    from tabterm.cli import explain

    return explain


def _dyads() -> SubCommand:
    from tabterm.cli import dyads

    return dyads


def _invent() -> SubCommand:
    from tabterm.cli import invent

    return invent


def _neck() -> SubCommand:
    from tabterm.cli import neck

    return neck


def _phrases() -> SubCommand:
    from tabterm.cli import phrases

    return phrases


def _play() -> SubCommand:
    from tabterm.cli import play

    return play


def _listen() -> SubCommand:
    from tabterm.cli import listen

    return listen


def _log() -> SubCommand:
    from tabterm.cli import log

    return log


def _render() -> SubCommand:
    from tabterm.cli import render

    return render


def _handout() -> SubCommand:
    from tabterm.cli import handout

    return handout


def _sheet() -> SubCommand:
    from tabterm.cli import sheet

    return sheet


def _convert() -> SubCommand:
    from tabterm.cli import convert

    return convert


def _slow() -> SubCommand:
    from tabterm.cli import slow

    return slow


def _transcribe() -> SubCommand:
    from tabterm.cli import transcribe

    return transcribe


def _compare() -> SubCommand:
    from tabterm.cli import compare

    return compare


def _recover() -> SubCommand:
    from tabterm.cli import recover

    return recover


def _ports() -> SubCommand:
    from tabterm.cli import ports

    return ports


def _keys() -> SubCommand:
    from tabterm.cli import keys

    return keys


def _config() -> SubCommand:
    from tabterm.cli import config

    return config


def _demo() -> SubCommand:
    from tabterm.cli import demo

    return demo


def _help() -> SubCommand:
    from tabterm.cli import help as help_page

    return help_page


def _completion() -> SubCommand:
    from tabterm.cli import completion

    return completion


COMMANDS: dict[str, Listed] = {
    "edit": Listed(_edit, "open a score in the editor (`tabterm FILE` does the same)"),
    "show": Listed(_show, "print a file as text tab", paged=True),
    "finger": Listed(_finger, "propose a finger for every note, and a better course where it helps", paged=True),
    "strokes": Listed(_strokes, "propose a pick stroke for every picked note"),
    "check": Listed(_check, "list what is impossible or hard for the hand, with remedies", paged=True),
    "hand": Listed(_hand, "show or set your hand: span, weak fingers, speeds; write speed drills", paged=True),
    "hard": Listed(_hard, "show the hardest passages: why they are hard, and a drill for each", paged=True),
    "explain": Listed(_explain, "explain what a solo does, phrase by phrase, as a teacher would", paged=True),
    "dyads": Listed(
        _dyads, "list the double stops of a chord or scale that you can hold, or those in a solo", paged=True
    ),
    "invent": Listed(_invent, "make new phrases from measures or a scale, all within your limits", paged=True),
    "neck": Listed(_neck, "show a scale, a chord, double stops or positions on the neck", paged=True),
    "phrases": Listed(_phrases, "search your phrase book, add to it, and insert phrases into a score", paged=True),
    "play": Listed(_play, "play a score or some of its measures, once or in a practice loop"),
    "listen": Listed(_listen, "play what an editor on another machine sends over SSH"),
    "log": Listed(_log, "show what you have practised, or export it as a CSV file", paged=True),
    "render": Listed(_render, "export a score as sound: WAV, FLAC, Ogg Vorbis, MP3 or MIDI"),
    "handout": Listed(
        _handout, "make a folder for a student: booklet, page for the phone, audio at several tempos"
    ),
    "sheet": Listed(_sheet, "print a score: notation and tab as PDF, PNG, SVG, HTML or text"),
    "convert": Listed(_convert, "convert a file to another format, chosen by the file extension"),
    "slow": Listed(_slow, "slow a recording down without changing its pitch, or shift the pitch"),
    "transcribe": Listed(_transcribe, "propose a tab of a recorded solo"),
    "compare": Listed(_compare, "list the notes that differ from the original line of a score", paged=True),
    "recover": Listed(_recover, "list unsaved work, or save it to a new file"),
    "ports": Listed(_ports, "list the audio devices and MIDI ports you can play to"),
    "keys": Listed(_keys, "print the editor's keys, with your own bindings", paged=True),
    "config": Listed(_config, "show the configuration, explain it, or change a setting", paged=True),
    "demo": Listed(_demo, "copy the samples into a folder, and open one"),
    "help": Listed(_help, "explain a command, with examples", paged=True),
    "completion": Listed(_completion, "print a completion script for bash, zsh or fish"),
}
"""By name, in the order of the help."""

FORMER: dict[str, tuple[str, ...]] = {"pack": ("handout", "--only", "audio")}
"""Commands that go by another name now; they work for one version more."""
