"""The first picture: kept, shown before the toolkit is loaded, and never one of something else."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import shutil
import struct
import subprocess
import sys
import termios

import pyte
import pytest

from tabterm.storage.names import away
from tabterm.tui.terminal import first as first_picture
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.brush import PLAIN, Pen
from tabterm.tui.terminal.first import First, Picture
from tests.bench.files import SAMPLE

BRIGHT = Pen("38;2;1;2;3", "", frozenset({"bold"}))
CELLS = [[(character, PLAIN) for character in f"{number} ab|-"] for number in range(4)]
CELLS[1][2:5] = [("漢", BRIGHT), ("", BRIGHT), ("e\u0301", BRIGHT)]
PICTURE = Picture(CELLS, (3, 2))


@pytest.fixture
def terminal(monkeypatch, tmp_path):
    """A pseudo-terminal of 6 by 4 cells in the place of the program's own; gives the end that a person has."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", len(CELLS), len(CELLS[0]), 0, 0))
    for name in ("KEYBOARD", "SCREEN"):
        monkeypatch.setattr(first_picture, name, slave)
    yield master, slave
    os.close(master)
    os.close(slave)


@pytest.fixture
def piece(tmp_path):
    return shutil.copy(SAMPLE, tmp_path / "piece.tabterm")


def of(piece, *asked):
    return First.of(piece, Abilities(), asked)


def test_what_was_kept_is_shown_and_the_terminal_given_back(terminal, piece):
    master, slave = terminal
    before = termios.tcgetattr(slave)
    first = of(piece)
    assert first.picture is None
    first.show()
    assert first.wire is None
    first.keep(PICTURE)
    again = of(piece)
    assert again.picture == PICTURE
    again.show()
    assert not termios.tcgetattr(slave)[3] & (termios.ECHO | termios.ICANON | termios.ISIG)
    screen = pyte.Screen(len(CELLS[0]), len(CELLS))
    pyte.ByteStream(screen).feed(os.read(master, 4096))
    assert screen.display[0] == "0 ab|-"
    assert screen.display[1].startswith("1 漢")
    assert (screen.cursor.x, screen.cursor.y) == (3, 2)
    assert again.wire.frame() == ""  # the toolkit goes on from here
    again.give_back()
    assert termios.tcgetattr(slave) == before
    assert os.read(master, 4096).endswith(b"\x1b[?1049l")


@pytest.mark.parametrize(
    "change",
    [
        lambda kept: kept | {"mark": "0"},
        lambda kept: kept | {"cursor": "here"},
        lambda kept: kept | {"pens": [["31m\x1b]0;mine\x07", "", []]] * 4},
        lambda kept: kept | {"pens": [["", "", ["sparkling"]]] * 4},
        lambda kept: kept | {"rows": [[[0, "\x1b[2J\x1b[H!"]]] * 4},
        lambda kept: kept | {"rows": kept["rows"][:3]},
        lambda kept: kept | {"rows": [[[9, "012345"]]] * 4},
        lambda kept: [kept],
    ],
)
def test_what_is_of_something_else_or_spoilt_is_not_shown(change, terminal, piece):
    first = of(piece)
    first.keep(PICTURE)
    path = away(first.file, first_picture.KIND)
    path.write_text(json.dumps(change(json.loads(path.read_text()))))
    assert of(piece).picture is None


def test_a_changed_file_another_look_and_work_left_behind_have_no_picture(terminal, piece):
    of(piece).keep(PICTURE)
    assert of(piece).picture == PICTURE
    assert of(piece, "light").picture is None
    journal = piece.with_name(".piece.tabterm.journal")
    journal.write_text("the mark that it begins with\n")
    assert of(piece).picture == PICTURE
    journal.write_text("the mark that it begins with\na change\n")
    assert of(piece) is None
    journal.unlink()
    piece.write_bytes(piece.read_bytes() + b"\n")
    assert of(piece).picture is None
    assert First.of(piece.with_name("none.tabterm"), Abilities(), ()) is None


def test_the_toolkit_is_not_loaded_for_it():
    words = "import sys, tabterm.cli.edit, tabterm.tui.terminal.first as f, tabterm.tui.terminal.wire as w\n"
    words += "from tabterm.tui.terminal.abilities import Abilities\n"
    words += "w.Wire(Abilities()).frame()\n"
    words += "print(*sorted({'textual', 'rich', 'pydantic', 'asyncio', 'tabterm.score'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", words], capture_output=True, check=True).stdout == b"\n"


def test_the_picture_is_what_the_editor_then_shows_and_keys_typed_over_it_count(open_editor, piece):
    editor = open_editor(piece).ready()
    editor.wait_until(lambda: away(piece, first_picture.KIND).exists())
    assert editor.quit() == 0
    again = open_editor(piece)
    again.wait_for("E |")
    picture, sent = again.screen.display[:12], again.received
    again.type_bytes(b"a5")
    again.wait_until(lambda: "5" in again.row("E |"))
    assert again.received - sent < sent / 2  # the toolkit draws only what differs
    assert [line[20:60] for line in picture[6:11]] == [line[20:60] for line in again.screen.display[6:11]]


def test_keys_typed_over_a_picture_that_was_painted_just_now_count(open_editor, piece):
    editor = open_editor(piece)
    editor.wait_for("E |")
    editor.type_bytes(b"a7")
    editor.wait_until(lambda: "7" in editor.row("E |"))
