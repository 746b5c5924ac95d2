"""The editor on the far side of a real OpenSSH connection: killed, stalled, resized, taken up again."""

from __future__ import annotations

import os
import shutil
import signal
import time
from contextlib import suppress

import psutil
import pytest

from tests.bench.files import SAMPLE
from tests.lines.ssh import ssh
from tests.terminal import Editor
from tests.thorough import many

__all__ = ["ssh"]


@pytest.fixture
def piece(tmp_path):
    path = tmp_path / "piece.tabterm"
    shutil.copy(SAMPLE, path)
    return path


@pytest.fixture
def connect(ssh, piece):
    """Opens editors over the connection; what is left of them is ended."""
    lines = []

    def one(**options) -> Editor:
        lines.append(Editor(command=ssh.command(piece), **options))
        lines[-1].wait_for("hand ", 20.0)
        lines[-1].read(0.3)
        return lines[-1]

    yield one
    for line in lines:
        line.close()
    for process in ssh.editors(piece):
        with suppress(psutil.NoSuchProcess):
            process.kill()


def gone(ssh, piece, timeout_s=5.0):
    deadline = time.monotonic() + timeout_s
    while ssh.editors(piece) and time.monotonic() < deadline:
        time.sleep(0.05)
    return not ssh.editors(piece)


@pytest.mark.parametrize("what", ["client", "server"])
def test_a_killed_connection_loses_nothing(what, connect, ssh, piece):
    line = connect()
    line.press("ctrl+home", "a", "7", "5")
    line.wait_until(lambda: "7---5" in line.row("E |"))
    if what == "client":
        line.process.kill()
    else:
        for child in psutil.Process(ssh.process.pid).children(recursive=True):
            with suppress(psutil.NoSuchProcess):  # one takes the others with it
                if "sshd" in child.name():
                    child.kill()
    assert gone(ssh, piece)
    again = connect()
    again.wait_for("recovered 2 change")
    assert "7---5" in again.row("E |")
    again.press("ctrl+s")
    assert again.quit() == 0
    assert gone(ssh, piece)


@pytest.mark.timeout(120)
def test_a_stalled_connection_costs_nothing_and_comes_back_up_to_date(connect, ssh, piece):
    """The client sleeps (30 s if thorough) while the score plays in a loop and keys lie in the line."""
    line = connect()
    line.press("ctrl+home", "a", "f6", "f5")
    editor = ssh.editors(piece)[0]
    os.kill(line.process.pid, signal.SIGSTOP)
    memory = editor.memory_info().rss
    line.type_bytes(b"7")
    editor.cpu_percent()
    time.sleep(many(5, 30))
    assert editor.cpu_percent() < 25.0
    assert editor.memory_info().rss < memory + 20e6
    os.kill(line.process.pid, signal.SIGCONT)
    line.wait_until(lambda: "7" in line.row("E |"), 2.0)
    line.press("f5", "5")
    line.wait_until(lambda: "7---5" in line.row("E |"))
    line.press("ctrl+s")
    assert line.quit() == 0
    assert gone(ssh, piece)


def test_resizes_go_through_the_connection(connect, piece):
    line = connect()
    for width in range(60, 120, 3):
        line.resize(width, 24, quiet_s=0.01)
    line.resize(120, 40)
    line.wait_until(lambda: line.screen.display[-1].strip().endswith("quit"))
    assert max(len(row.rstrip()) for row in line.screen.display) > 90
    line.press("ctrl+s")
    assert line.quit() == 0
