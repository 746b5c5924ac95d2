"""The editor inside tmux and GNU screen: detached, attached again, ended from outside."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time

import psutil
import pytest

from tests.bench.files import SAMPLE


@pytest.fixture
def piece(tmp_path):
    path = tmp_path / "piece.tabterm"
    shutil.copy(SAMPLE, path)
    return path


def commands(name, folder, piece):
    """How each begins a session, takes it up again, and is ended."""
    editor = [sys.executable, "-m", "tabterm", str(piece)]
    if name == "tmux":
        own = ["tmux", "-f", "/dev/null", "-S", str(folder / "socket")]
        return [*own, "new-session", "-s", "t", *editor], [*own, "attach", "-t", "t"], [*own, "kill-server"]
    own = ["screen", "-c", "/dev/null"]
    return [*own, "-S", "t", *editor], [*own, "-r", "t"], [*own, "-S", "t", "-X", "quit"]


def wait_until_ended(path):
    """Wait until the editor that has a document has ended: one that is hung up on takes a moment."""
    process = json.loads(path.with_name(f".{path.name}.lock").read_bytes())["process"]
    deadline = time.monotonic() + 30
    while psutil.pid_exists(process):
        assert time.monotonic() < deadline, "the editor has not ended"
        time.sleep(0.01)


@pytest.mark.parametrize(("name", "detach"), [("tmux", b"\x02d"), ("screen", b"\x01d")])
def test_detached_and_attached_again(name, detach, open_editor, piece, tmp_path):
    if shutil.which(name) is None:
        pytest.skip(f"no {name} here")
    sockets = tmp_path / "sockets"
    sockets.mkdir(mode=0o700)
    begin, again, end = commands(name, tmp_path, piece)
    variables = {"SCREENDIR": str(sockets), "TERM": "xterm-256color"}
    first = open_editor(command=begin, **variables)
    try:
        first.wait_for("E |")
        first.read(0.5)
        first.press("ctrl+home", "f", "7", "pagedown", "ctrl+home")
        first.wait_until(lambda: "7" in first.row("G |"))
        first.read(0.3)
        shown = [line.rstrip() for line in first.screen.display[:21]]
        first.type_bytes(detach)
        first.ended()
        second = open_editor(command=again, **variables)
        second.wait_until(lambda: [line.rstrip() for line in second.screen.display[:21]] == shown)
        second.press("right", "5")
        second.wait_until(lambda: "7---5" in second.row("G |"))
        time.sleep(0.3)
    finally:
        subprocess.run(end, env=os.environ | variables, check=False, capture_output=True)
    wait_until_ended(piece)
    third = open_editor(piece)
    third.wait_for("recovered")
    assert "7---5" in third.row("G |")
