"""The examples of the pages do what they say: each command line ends well, and each piece of Python runs."""

from __future__ import annotations

import io
import shlex
import shutil
import sys
from pathlib import Path

import pytest

from tabterm.cli.main import build_parser, main
from tabterm.cli.subcommands import COMMANDS
from tests.test_pages import PAGES, ROOT, blocks, shell_lines
from tests.thorough import THOROUGH

SAMPLES = ROOT / "samples"
TUNE = SAMPLES / "lantern-waltz.tabterm"
LIKE = {
    ".tabterm": TUNE,
    ".abc": SAMPLES / "boil-them-cabbage-down.abc",
    ".musicxml": SAMPLES / "weir-street-low-line.musicxml",
    ".ogg": SAMPLES / "tollgate-reel.ogg",
}
"""Samples that stand for the files that examples read; other kinds are made of the first."""

UNTRIED = {
    "tabterm play": "needs an output",
    "tabterm listen": "waits for an editor",
    "tabterm demo": "opens the editor",
    "tabterm handout": "takes minutes: tests/cli/test_handout.py",
    "tabterm recover": "needs work that was not saved: tests/cli/test_recover.py",
    "tabterm phrases": "needs phrases in the book: tests/cli/test_phrases.py",
    "--copy": "needs a terminal: tests/cli/test_show.py",
    "--tune 7": "needs a book of tunes: tests/cli/test_taking_in.py",
    "--track 2": "needs a file of several tracks: tests/cli/test_taking_in.py",
    "--recording": "needs a recording that is tied: tests/cli/test_render.py",
}
SLOW = {"transcribe", "render", "slow"}
"""Tried where there is time for it (`tests/thorough.py`)."""


def command_of(line):
    """The command of a line, which may go without its name."""
    name = shlex.split(line, comments=True)[1]
    return name if name in COMMANDS else "edit"


LINES = {
    line: page
    for page in PAGES
    for line in shell_lines(page)
    if command_of(line) != "edit"
    and not any(each in line for each in UNTRIED)
    and (THOROUGH or command_of(line) not in SLOW)
}


def lay_out(path):
    """Put a file, or a folder with a score, where an example reads it."""
    if not path.suffix:
        path.mkdir(exist_ok=True)
        shutil.copy(TUNE, path)
    elif path.suffix in LIKE:
        shutil.copy(LIKE[path.suffix], path)
    else:
        assert main(["convert", str(TUNE), str(path), "-q"]) == 0


def read_by(parsed):
    """The files that a command reads, and whether it writes a folder that has to be there."""
    named = [value for value in vars(parsed).values() if isinstance(value, Path)]
    named += [path for value in vars(parsed).values() if isinstance(value, list) for path in value if value[:1]]
    named = [path for path in named if isinstance(path, Path) and str(path) != "-"]
    written = [getattr(parsed, name, None) for name in ("out", "folder", "drills", "svg", "csv")]
    if parsed.command in {"convert", "render", "sheet"} and getattr(parsed, "out", None) is None:
        written.append(parsed.files[-1])
    return [path for path in named if path not in written], [path for path in written if path]


@pytest.mark.parametrize("line", LINES)
def test_a_command_line_of_a_page_ends_well(line, tmp_path, monkeypatch, capsys):
    words = shlex.split(line, comments=True)[1:]
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(LIKE[".abc"].read_bytes())))
    (tmp_path / "samples").symlink_to(SAMPLES)
    read, written = read_by(build_parser(words[0]).parse_args(words))
    for path in read:
        if not path.exists():
            lay_out(path)
    if any(not path.suffix for path in read):
        for path in written:
            path.mkdir()
    assert main(words) in {0, 1}, capsys.readouterr().err


CHECKED = {"docs/fitting.md", "docs/hand.md"}
"""Pages whose Python is run, and what it prints compared, in `tests/test_docs.py`."""

PYTHON = [(page, number) for page in PAGES if page not in CHECKED for number in range(len(blocks(page, "python")))]


@pytest.mark.parametrize(("page", "number"), PYTHON)
def test_python_on_a_page_runs(page, number, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "samples").symlink_to(SAMPLES)
    exec(compile(blocks(page, "python")[number], page, "exec"), {})
    assert list(tmp_path.glob("*.*")) or capsys.readouterr().out
