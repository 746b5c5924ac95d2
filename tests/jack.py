"""A real MIDI system without a sound card: a JACK server with the dummy driver, and a recording port."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

MISSING = "no JACK server here (Debian: apt-get install jackd2)"
START_WITHIN_S = 10
MOST_WAITING = 100_000
"""Messages that may wait to be taken in."""

LISTEN_EVERY_S = 0.001
TRIES = 3
"""Two servers that start at the same moment (of two test runs, say) get into each other's way."""


class Server:
    """A JACK server with the dummy driver; clients started while `environment` is set talk to it.

    A period is 256 frames (5.3 ms): with shorter ones a busy machine now and then gives a client its turn too
    late, and what it had to send is lost. So it does with any period where busy processes go first: the server and
    its clients ask for real-time priority, and do without where the system does not grant it.
    """

    def __init__(self, name: str, loudspeakers: int = 0) -> None:
        self.name = name
        self.environment = {
            "JACK_NO_AUDIO_RESERVATION": "1",
            "JACK_NO_START_SERVER": "1",
            "JACK_DEFAULT_SERVER": name,
        }
        command = f"jackd -R --no-mlock -n {name} -d dummy -r 48000 -p 256 -C 0 -P {loudspeakers}"
        self._late_turns = 0
        self._said = tempfile.TemporaryFile()  # noqa: SIM115
        self.process = subprocess.Popen(
            [*_ending_with_us(), *command.split()],
            env=os.environ | self.environment,
            stdout=subprocess.DEVNULL,
            stderr=self._said,
        )

    @property
    def late_turns(self) -> int:
        """How often the server has said that a client was not ready in its turn, so that notes may be lost."""
        if not self._said.closed:
            said = os.pread(self._said.fileno(), os.fstat(self._said.fileno()).st_size, 0)
            self._late_turns = said.count(b"XRun")
        return self._late_turns

    def wait_until_up(self) -> bool:
        """Whether a client can be opened within a while."""
        probe = "import rtmidi; rtmidi.MidiIn(rtmidi.API_UNIX_JACK, 'probe').delete()"
        deadline = time.monotonic() + START_WITHIN_S
        while time.monotonic() < deadline and self.process.poll() is None:
            tried = subprocess.run(
                [sys.executable, "-c", probe],
                env=os.environ | self.environment,
                capture_output=True,
                check=False,
            )
            if tried.returncode == 0:
                return True
            time.sleep(0.05)
        return False

    def stop(self, number: int = signal.SIGTERM) -> None:
        """End the server; after SIGKILL, which is what a crash looks like, call `clear_away`."""
        self.process.send_signal(number)
        self.process.wait(60)
        self._late_turns = self.late_turns
        self._said.close()

    def clear_away(self) -> None:
        """Take what a crashed server has left out of JACK's list of servers, which holds eight at most."""
        again = Server(self.name)
        again.wait_until_up()
        again.stop()


def _ending_with_us() -> list[str]:
    """What lets a server end with the tests, even if those are killed; util-linux brings it."""
    return ["setpriv", "--pdeathsig", "TERM"] if shutil.which("setpriv") else []


def start_server(name: str, loudspeakers: int = 0) -> Server:
    """A running server with so many channels for an audio device to play to.

    Skips the test, with the reason, where JACK or its MIDI library is missing.
    """
    pytest.importorskip("rtmidi", reason="python-rtmidi has no wheel for this Python")
    if shutil.which("jackd") is None:
        pytest.skip(MISSING)
    for _ in range(TRIES):
        server = Server(name, loudspeakers)
        if server.wait_until_up():
            return server
        server.stop()
    pytest.fail("the JACK server does not start")


_shared: list[Server] = []


@pytest.fixture(scope="session")
def jack() -> Iterator[str]:
    """The name of a server that runs as long as the tests do."""
    server = start_server(f"tabterm-test-{os.getpid()}")
    _shared.append(server)
    os.environ |= server.environment
    yield server.name
    server.stop()


def late_turns() -> int:
    """How often a client of the shared server was not ready in its turn, so far."""
    return sum(server.late_turns for server in _shared)


class Recorder:
    """An input port that keeps (time in s, message) of everything that arrives.

    What arrives waits in a queue: a callback would keep JACK waiting for the interpreter's lock, on a busy machine
    for longer than a turn.
    """

    def __init__(self, name: str) -> None:
        import rtmidi

        self.name = name
        self.received: list[tuple[float, bytes]] = []
        self._port = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name, MOST_WAITING)
        self._port.ignore_types(sysex=False, timing=False, active_sense=False)
        self._port.open_virtual_port("in")
        self._resting = threading.Event()
        self._thread = threading.Thread(target=self._listen)
        self._thread.start()

    def _listen(self) -> None:
        while not self._resting.wait(LISTEN_EVERY_S):
            while (event := self._port.get_message()) is not None:
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

    def wait_for(self, count: int, timeout_s: float = 20.0) -> None:
        """Wait until so many note-ons have come; fails when they do not."""
        deadline = time.monotonic() + timeout_s
        while len(self.notes()) < count:
            assert time.monotonic() < deadline, f"{len(self.notes())} of {count} notes came"
            time.sleep(0.005)

    def close(self) -> None:
        """Let the port go."""
        self._resting.set()
        self._thread.join()
        self._port.close_port()
        self._port.delete()


_numbers = iter(range(10_000))


@pytest.fixture
def recorder(jack: str) -> Iterator[Recorder]:
    """A recording port of its own for each test."""
    recorder = Recorder(f"recorder-{next(_numbers)}")
    yield recorder
    recorder.close()
