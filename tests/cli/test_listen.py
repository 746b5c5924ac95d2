"""`tabterm listen`: what it prints, where it refuses to listen, how it ends."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys

import pytest

from tabterm.errors import SoundError
from tabterm.sound.remote import delivery
from tabterm.sound.remote.address import PORT
from tabterm.sound.remote.handshake import near_token
from tests.sound.remote.near import wait_until


@pytest.fixture
def listen(tmp_path, monkeypatch):
    """Starts listeners with folders of their own; (process, what it has printed)."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    tmp_path.chmod(0o700)
    running = []

    def start(*words):
        path = tmp_path / f"output-{len(running)}"
        output = path.open("w")
        command = [sys.executable, "-m", "tabterm", "listen", *words]
        process = subprocess.Popen(command, stdout=output, stderr=subprocess.STDOUT)
        running.append((process, output))

        def said():
            return path.read_text()

        wait_until(lambda: process.poll() is not None or "Ctrl-C ends" in said(), 20)
        return process, said

    yield start
    for process, output in running:
        process.kill()
        process.wait()
        output.close()


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_it_prints_the_line_to_log_in_with_and_goes_without_a_trace(listen, tmp_path, how):
    process, said = listen()
    address = tmp_path / "tabterm" / "listen.sock"
    assert f"    ssh -R /tmp/tabterm-$(date +%s).sock:{address} FAR\n" in said()
    assert "This machine sets the volume" in said()
    assert stat.S_IMODE(address.stat().st_mode) == 0o600
    process.send_signal(how)
    assert process.wait(60) == 0
    assert not address.exists()
    assert "Traceback" not in said()


def test_at_a_port_it_makes_a_token_and_prints_how_to_bring_it_over(listen):
    _, said = listen("--tcp", str(PORT + 1))
    assert stat.S_IMODE(near_token().stat().st_mode) == 0o600
    there = ".local/share/tabterm"
    take = f"umask 077; mkdir -p ~/{there}; cat > ~/{there}/listener-token"
    assert f"    ssh FAR '{take}' < {near_token()}\n" in said()
    assert f"-R 127.0.0.1:{PORT}:127.0.0.1:{PORT + 1} FAR\n" in said()
    assert near_token().read_text().strip() not in said()


def test_one_that_listens_already_is_told(listen):
    listen()
    second, said = listen()
    assert second.wait(60) == 2
    assert "a listener already runs there" in said()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--tcp", "0.0.0.0:4000"), "'0.0.0.0' is open to other machines"),
        (("--tcp", "example.org:4000"), "'example.org' is open to other machines"),
        (("--tcp", "x"), "not an address: 'x'"),
        (("--socket", "/tmp/tabterm-here.sock"), "others could put their own socket there"),
        (("--output", "listener"), "a listener cannot play"),
        (("--output", "gramophone"), "not an output: 'gramophone'"),
    ],
)
def test_what_it_refuses_is_one_line(listen, words, message):
    process, said = listen(*words)
    assert process.wait(60) == 2
    assert said().startswith("tabterm: ")
    assert message in said()
    assert said().count("\n") == 1


def test_a_folder_that_is_not_there_is_not_made(listen, tmp_path):
    process, said = listen("--socket", str(tmp_path / "mistyped" / "folder" / "listen.sock"))
    assert process.wait(60) == 2
    assert said().startswith(f"tabterm: {tmp_path}/mistyped/folder: no such folder (mkdir -m 700 ")
    assert not (tmp_path / "mistyped").exists()


def test_in_an_ssh_session_it_says_where_the_sound_will_be(listen, monkeypatch):
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.1 1 192.0.2.2 22")
    monkeypatch.setenv("JACK_DEFAULT_SERVER", f"none-{os.getpid()}")
    _, said = listen()
    wait_until(lambda: "this is an SSH session" in said())
    wait_until(lambda: "no output yet; name one" in said(), 20)


def test_a_sheet_is_kept_where_the_command_says_and_none_is_taken_where_it_says_so(listen, tmp_path):
    address, sheets = tmp_path / "tabterm" / "listen.sock", tmp_path / "sheets"
    process, said = listen("--sheets", str(sheets), "--opener", "none")
    words = delivery.send(str(address), "Kiln Lane.pdf", b"%PDF-1.7", opens=True, progress=lambda _: None)
    assert words == f"kept as {sheets}/kiln-lane.pdf"
    assert (sheets / "kiln-lane.pdf").read_bytes() == b"%PDF-1.7"
    wait_until(lambda: "the sheet 'Kiln Lane.pdf' has arrived" in said())
    process.terminate()
    process.wait(60)
    listen("--no-sheets", "--page")
    with pytest.raises(SoundError, match="does not accept sheets"):
        delivery.send(str(address), "a.pdf", b"%PDF-1.7", opens=True, progress=lambda _: None)
