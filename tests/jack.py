"""A real MIDI system without a sound card: a JACK server with the dummy driver, and a recording port."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

SERVER = f"tabterm-test-{os.getpid()}"
MISSING = "no JACK server here (Debian: apt-get install jackd2)"


@pytest.fixture(scope="session")
def jack() -> Iterator[str]:
    """The name of a running server; tests that need it are skipped where JACK is not installed."""
    rtmidi = pytest.importorskip("rtmidi", reason="python-rtmidi has no wheel for this Python")
    if shutil.which("jackd") is None:
        pytest.skip(MISSING)
    os.environ |= {"JACK_NO_AUDIO_RESERVATION": "1", "JACK_NO_START_SERVER": "1", "JACK_DEFAULT_SERVER": SERVER}
    command = f"jackd -r --no-mlock -n {SERVER} -d dummy -r 48000 -p 64 -C 0 -P 0"
    server = subprocess.Popen(command.split(), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline:
        try:
            probe = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, "probe")
        except Exception:  # noqa: BLE001 - the server is not up yet
            time.sleep(0.1)
            continue
        probe.delete()
        break
    else:
        server.kill()
        pytest.skip("the JACK server did not start")
    yield SERVER
    server.terminate()
    server.wait(10)


class Recorder:
    """An input port that keeps (time in s, message) of everything that arrives."""

    def __init__(self, name: str) -> None:
        import rtmidi

        self.name = name
        self.received: list[tuple[float, bytes]] = []
        self._port = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name)
        self._port.ignore_types(sysex=False, timing=False, active_sense=False)
        self._port.open_virtual_port("in")
        self._port.set_callback(self._take)

    def _take(self, event: tuple[list[int], float], _data: object) -> None:
        self.received.append((time.monotonic(), bytes(event[0])))

    def notes(self) -> list[tuple[int, int, int]]:
        """(channel, note, velocity) of every note-on, in order."""
        return [(m[0] & 15, m[1], m[2]) for _, m in self.received if m[0] & 0xF0 == 0x90 and m[2]]

    def sounding(self) -> set[tuple[int, int]]:
        """(channel, note) of what has been started and not stopped."""
        on: set[tuple[int, int]] = set()
        for _, message in self.received:
            kind, channel = message[0] & 0xF0, message[0] & 15
            if kind == 0x90 and message[2]:
                on.add((channel, message[1]))
            elif kind in {0x80, 0x90}:
                on.discard((channel, message[1]))
            elif kind == 0xB0 and message[1] in {120, 123}:
                on = {each for each in on if each[0] != channel}
        return on

    def wait_for(self, count: int, timeout_s: float = 5.0) -> None:
        """Wait until so many note-ons have come; fails when they do not."""
        deadline = time.monotonic() + timeout_s
        while len(self.notes()) < count:
            assert time.monotonic() < deadline, f"{len(self.notes())} of {count} notes came"
            time.sleep(0.005)

    def close(self) -> None:
        self._port.close_port()
        self._port.delete()


_numbers = iter(range(10_000))


@pytest.fixture
def recorder(jack: str) -> Iterator[Recorder]:
    """A recording port of its own for each test."""
    recorder = Recorder(f"recorder-{next(_numbers)}")
    yield recorder
    recorder.close()
