"""What reaches the terminal's clipboard from a command and from the editor, through real multiplexers."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
import sys
import time

import pytest

from tabterm.tui.terminal.clipboard import sequence
from tests.bench.files import SAMPLE

SET = re.compile(rb"\x1b\]52;[a-z]*;([A-Za-z0-9+/=]+)(?:\x07|\x1b\\)")
"""As the terminal outside gets it: tmux writes the sequence itself, with no name of a selection."""

VARIABLES = {"tmux": "TMUX", "screen": "STY"}
"""By which each tells what runs in it."""


def copied(editor, enough, timeout_s=30.0):
    """The texts that the terminal was told to keep, once enough has come or the command has ended."""
    received, deadline = b"", time.monotonic() + timeout_s
    while time.monotonic() < deadline and not enough(received):
        try:
            for _, data in editor.pieces(0.1):
                received += data
        except OSError:  # the command has ended
            break
    return copies(received)


def copies(received):
    """The texts in what a terminal has received."""
    return [base64.b64decode(found).decode() for found in SET.findall(received)]


@pytest.fixture(scope="module")
def shown():
    words = [sys.executable, "-m", "tabterm", "show", str(SAMPLE), "--clean"]
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


@pytest.mark.parametrize(
    ("name", "settings", "times"),
    [
        ("tmux", "", 0),
        ("tmux", "set -g set-clipboard on", 1),
        ("tmux", "set -g allow-passthrough on", 1),
        ("screen", "", 1),
    ],
)
def test_through_a_multiplexer(name, settings, times, open_editor, shown, tmp_path):
    """By default tmux lets nothing through; GNU screen passes on what comes in its own strings."""
    if shutil.which(name) is None:
        pytest.skip(f"no {name} here")
    sockets = tmp_path / "sockets"
    sockets.mkdir(mode=0o700)
    (tmp_path / "settings").write_text(f"{settings}\n")
    (tmp_path / "sequence").write_text(sequence(shown, {"TERM": "screen", VARIABLES[name]: "set"}))
    outer = {
        "tmux": ["tmux", "-f", str(tmp_path / "settings"), "-S", str(tmp_path / "socket"), "new-session"],
        "screen": ["screen", "-c", "/dev/null", "-S", "t"],
    }[name]
    inner = f"echo ready; read key; cat {tmp_path}/sequence; echo over; read key"
    editor = open_editor(command=[*outer, "sh", "-c", inner], SCREENDIR=str(sockets), TERM="xterm-256color")
    editor.wait_for("ready")
    editor.type_bytes(b"\r")
    editor.wait_for("over")
    editor.type_bytes(b"\r")
    editor.ended()
    assert copies(editor.sent) == [shown] * times


def test_a_command_reaches_the_terminal(open_editor, shown):
    words = [sys.executable, "-m", "tabterm", "show", str(SAMPLE), "--clean", "--copy"]
    assert copied(open_editor(command=words), lambda _: False) == [shown]


def test_the_editors_key_reaches_the_terminal(open_editor, tmp_path):
    piece = tmp_path / "piece.tabterm"
    shutil.copy(SAMPLE, piece)
    editor = open_editor(piece).ready()
    editor.type_bytes(b"\x0f")
    (text,) = copied(editor, SET.search)
    assert text.splitlines()[0] == "       0 pickup from beat 2"
    assert text.count("\n") == 8
