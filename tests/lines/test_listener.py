"""A listener behind a real OpenSSH connection: the line that `tabterm listen` prints, taken literally."""

from __future__ import annotations

import re
import subprocess
import time
from contextlib import suppress
from pathlib import Path

import pytest

from tabterm import formats
from tabterm.score.tempo import Tempo
from tests.build import score
from tests.lines.ssh import ssh
from tests.sound.remote.near import opened, wait_until
from tests.sound.remote.process import Listening

__all__ = ["opened", "ssh"]


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "tune.tabterm"
    formats.write(path, score("2 1.0,2 1.2", tempo=Tempo(240.0)))
    return path


@pytest.fixture
def listening(recorder, tmp_path, opened):
    return opened(Listening(tmp_path, recorder.name))


@pytest.fixture
def forward(listening):
    """The -R that the listener's own line asks for; the socket that the server leaves behind is taken away."""
    there, here = re.search(r"ssh -R (.+):(\S+) FAR", listening.said()).groups()
    there = subprocess.run(f"echo {there}", shell=True, capture_output=True, text=True, check=True).stdout.strip()
    yield f"{there}:{here}"
    with suppress(FileNotFoundError):
        Path(there).unlink()


def far(ssh, forward, *words):
    command = ssh.command(*words)
    return ["ssh", "-R", forward, *command[1:]]


def test_the_printed_line_is_all_that_is_needed(ssh, forward, listening, recorder, tune):
    command = far(ssh, forward, "play", tune)
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=30, stdin=subprocess.DEVNULL, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"to the listener's {recorder.name}:in" in done.stdout
    assert [note[1] for note in recorder.notes()] == [76, 78]
    assert not recorder.sounding()


def test_a_connection_that_is_killed_leaves_silence(ssh, forward, listening, recorder, tune):
    client = subprocess.Popen(
        far(ssh, forward, "play", tune, "--loop", "0"), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        recorder.wait_for(3, timeout_s=20)
    finally:
        client.kill()
        client.wait()
    wait_until(lambda: "the editor has left" in listening.said())
    heard = len(recorder.notes())
    time.sleep(0.6)
    assert len(recorder.notes()) == heard
    assert not recorder.sounding()
