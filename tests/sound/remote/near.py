"""A listener in this process, editors' ends of all kinds, and plans for them."""

from __future__ import annotations

import threading
import time

import pytest

from tabterm.performance import perform
from tabterm.score.tempo import Tempo
from tabterm.sound import packing
from tabterm.sound.link import Link, spawn
from tabterm.sound.outputs import Wish
from tabterm.sound.plan import Plan
from tabterm.sound.remote.address import LoopbackPort, SocketFile
from tabterm.sound.remote.handshake import Handshake
from tabterm.sound.remote.inspection import folded
from tabterm.sound.remote.listener import Listener
from tabterm.sound.voicing import voicing_of
from tests.build import score

PHRASE = score("16 1.0,16 2.0,16 3.0,16 4.0,16 1.2,16 2.2,16 3.2,16 4.2", metre="2/4", tempo=Tempo(300.0))  # 0.4 s
LONG = score("1 1.0 2.0", tempo=Tempo(30.0))
PITCHES = [76, 69, 62, 55, 78, 71, 64, 57]


def packed(built=PHRASE, number=1, **order):
    """A plan's bytes and values, as the editor gives them to what it takes for an engine."""
    plan = Plan.of(perform(built), voicing_of(built.head.instrument), number=number, **order)
    return packing.packed(plan)


class Near:
    """A listener that runs in a thread.

    Attributes:
        address: Where it is.
        lines: What it has said to its user.
    """

    def __init__(self, address, output, token=None, deliver=None):
        self.address, self.token, self.lines = address, token, []
        door = address.bind()
        if isinstance(address, LoopbackPort):
            self.address = LoopbackPort(*door.getsockname()[:2])
        self.listener = Listener(
            door, token=token, wish=Wish.parse(output), say=self.lines.append, deliver=deliver
        )
        self._resting = threading.Event()
        self._thread = threading.Thread(target=self._serve)
        self._thread.start()

    def _serve(self):
        while not self._resting.is_set():
            self.listener.turn(0.02)

    def close(self):
        if not self._resting.is_set():
            self._resting.set()
            self._thread.join()
            self.listener.close()

    def wait_for_line(self, words, timeout_s=5.0):
        wait_until(lambda: any(words in line for line in self.lines), timeout_s, lambda: self.lines)


class Far:
    """What an editor has at its end: a caller, taken for an engine."""

    def __init__(self, wanted):
        self.process, self.link = spawn("tabterm.sound.remote.caller", str(wanted))
        self.frames = []

    def play(self, built=PHRASE, number=1, **order):
        body, values = packed(built, number, **order)
        self.link.send("play", body, **values)

    def hear(self, word, timeout_s=6.0):
        """The next report of a kind."""
        deadline = time.monotonic() + timeout_s
        while True:
            for at, frame in enumerate(self.frames):
                if frame.word == word:
                    del self.frames[: at + 1]
                    return frame
            assert time.monotonic() < deadline, (word, self.frames)
            if self.link.wait(0.1):
                self.frames += self.link.receive()

    def close(self):
        self.link.close()
        self.process.wait(60)


def guest(near, token=None):
    """A link that the listener has welcomed, for saying what no caller says."""
    link = Link(near.address.connect())
    handshake = Handshake("editor", token)
    handshake.hear(next_frame(link))
    link.send("hello", **handshake.hello())
    welcome = next_frame(link)
    assert welcome.word == "welcome", welcome
    handshake.check("listener", welcome.values["proof"])
    return link


def next_frame(link, timeout_s=5.0):
    """The first frame of those that have come; raises EOFError when the other end has gone."""
    assert link.wait(timeout_s)
    return link.receive()[0]


def sent(link, body, values, word="play"):
    """Send a plan as a caller does."""
    link.send(word, folded(body), **values)


def is_gone(link, timeout_s=5.0):
    """Whether the other end closes the line."""
    deadline = time.monotonic() + timeout_s
    try:
        while time.monotonic() < deadline:
            if link.wait(0.1):
                link.receive()
    except (EOFError, ConnectionError):
        return True
    return False


def phrases(recorder):
    """How often the phrase has come; on a busy machine JACK loses a note now and then, never half of them."""
    return round(sum(note[1] in PITCHES for note in recorder.notes()) / len(PITCHES))


def wait_until(holds, timeout_s=5.0, seen=lambda: ""):
    deadline = time.monotonic() + timeout_s
    while not holds():
        assert time.monotonic() < deadline, seen()
        time.sleep(0.002)


@pytest.fixture
def opened():
    """Opens things; they are closed at the end of the test, the last first."""
    things = []

    def open_one(thing):
        things.append(thing)
        return thing

    yield open_one
    for thing in reversed(things):
        thing.close()


@pytest.fixture
def near(recorder, tmp_path, opened):
    """A listener at a socket that plays to the recorder."""
    tmp_path.chmod(0o700)
    found = opened(Near(SocketFile(tmp_path / "listen.sock"), f"port:{recorder.name}"))
    found.wait_for_line("the sound goes to the port")
    return found
