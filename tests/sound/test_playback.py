"""What the player orders, and what it makes of reports, with the test at the engine's end of the link."""

from __future__ import annotations

import random
import socket
import subprocess
import sys

import pytest

from tabterm.performance import Options, perform
from tabterm.sound import packing
from tabterm.sound import playback as playback_module
from tabterm.sound.link import Frame, Link
from tabterm.sound.outputs import OutputKind, Wish
from tabterm.sound.playback import Playback
from tests.build import score
from tests.sound.test_port_output import PERFORMANCES, Desk, desk

__all__ = ["desk"]

QUARTERS = score("4 1.0,4 1.2,4 1.3,4 1.5")
FIRST, SECOND, THIRD = (perform(QUARTERS, options=Options(percent)) for percent in (100, 90, 80))


class Far:
    """The engine's end."""

    def __init__(self, link):
        self._link = link

    def orders(self):
        """(word, number, the number of what it follows) of the orders that have come."""
        return [(word, values.get("number"), values.get("follows")) for word, values, _ in self._link.receive()]

    def tell(self, word, number, **values):
        self._link.send(word, number=number, **values)

    def close(self):
        self._link.close()

    def turn(self, number, turn=1, at_s=0.0):
        self.tell("turn", number, turn=turn, at_s=at_s, start_s=0.0)


@pytest.fixture
def player():
    return Playback()


@pytest.fixture
def far(player, monkeypatch):
    ours, its = socket.socketpair()
    process = subprocess.Popen([sys.executable, "-S", "-c", ""])
    monkeypatch.setattr(playback_module, "reach_engine", lambda: (process, Link(ours)))
    far = Far(Link(its))
    player.play(FIRST, loop=0)
    assert far.orders() == [("warm", None, None), ("play", 1, 0)]
    far.turn(1)
    yield far
    its.close()
    player.close()


def test_a_change_that_was_replaced_and_has_begun_all_the_same_is_followed(player, far):
    player.change(SECOND)
    player.change(THIRD)
    assert far.orders() == [("change", 2, 1), ("change", 3, 1)]
    far.turn(2, at_s=0.6)
    far.tell("missed", 3)
    assert player.position().performance is SECOND
    assert far.orders() == [("change", 4, 2)]
    far.turn(4, at_s=1.2)
    assert player.position().performance is THIRD
    assert far.orders() == []


def test_what_came_too_late_and_has_been_replaced_is_not_ordered_again(player, far):
    player.change(SECOND)
    player.change(THIRD)
    player.change(FIRST)
    far.orders()
    far.turn(2, at_s=0.6)
    far.tell("missed", 3)
    far.tell("missed", 4)
    assert player.state == "playing"
    assert far.orders() == [("change", 5, 2)]


def test_the_end_is_the_end_when_what_was_to_follow_has_been_given_up(player, far):
    player.then(SECOND)
    player.change(THIRD)
    far.tell("ended", 1)
    assert player.state == "playing"  # what follows had not come yet over there
    far.tell("ended", 3)
    assert player.state == "idle"


def test_an_order_that_cannot_be_played_stops_what_sounds(player, far):
    player.change(SECOND)
    far.orders()
    far.tell("failed", 2, message="cannot be played", hint="", ends=False)
    assert (player.state, player.message) == ("failed", "cannot be played")
    assert far.orders() == [("stop", None, None)]


@pytest.mark.parametrize("opened", [False, True])
def test_an_engine_that_ends_before_it_has_an_output_would_end_again(player, far, opened):
    """Where a sound system hangs, to play again helps nobody: the hint is left to whoever knows another way."""
    if opened:
        far.tell("output", 0, kind="device", name="speakers")
    player.receive()
    far.close()
    assert player.state == "failed"
    assert player.message == "the sound engine has stopped" + (" without an output" if not opened else "")
    assert player.hint == ("play again to restart it" if opened else "")


class Line:
    """A link to an output far away, on the output's own clock: whatever is said is up to `lag_s` on its way.

    Attributes:
        count: Orders given.
    """

    def __init__(self, desk: Desk, drawn: random.Random, lag_s: float):
        self.count = 0
        self._desk, self._drawn, self._lag_s = desk, drawn, lag_s
        self._orders, self._reports = [], []
        desk.output._report = lambda word, _=b"", **values: self._put(self._reports, Frame(word, values, b""))

    def _put(self, queue, frame):
        due_s = self._desk.now_s + self._drawn.uniform(0, self._lag_s)
        queue.append((max(due_s, queue[-1][0] if queue else 0.0), frame))

    def _due(self, queue):
        while queue and queue[0][0] <= self._desk.now_s:
            yield queue.pop(0)[1]

    def send(self, word, body=b"", **values):
        self.count += 1
        self._put(self._orders, Frame(word, values, body))

    def receive(self):
        return list(self._due(self._reports))

    def close(self):
        pass

    def go(self, player, seconds):
        """Let time pass; False once nothing is on its way or sounds."""
        for _ in range(round(seconds * 50)):
            self._desk.now_s += 0.02
            for word, values, body in self._due(self._orders):
                order = getattr(self._desk.output, word)
                order(packing.unpacked(body, **values)) if body else order()
            while (due_s := self._desk.output.work()) is not None and due_s <= self._desk.now_s:
                pass
            player.receive()
        return bool(self._orders or self._reports or self._desk.output._sequencer)


@pytest.mark.parametrize("seed", range(60))
def test_whatever_is_ordered_over_a_slow_line_the_player_knows_when_it_is_over(seed, desk, player):
    """And gives no order again and again."""
    drawn = random.Random(seed)
    line = player._link = Line(desk, drawn, drawn.choice((0.02, 0.1, 0.3, 0.6)))
    given = drawn.randrange(1, 9)
    player.play(drawn.choice(PERFORMANCES), loop=2)
    for _ in range(given):
        order = drawn.choice((player.play, player.change, player.change, player.change, player.then, player.then))
        order(drawn.choice(PERFORMANCES), loop=drawn.choice((1, 1, 2)))
        line.go(player, drawn.choice((0.0, 0.05, 0.2, 0.5, 1.0, 2.0)))
    for _ in range(150):
        if not line.go(player, 1.0):
            break
    assert (player.state, desk.output._sequencer) == ("idle", None)
    assert line.count < 10 * (given + 1)


def ended(link):
    """Whether the other end has gone; what it has said last is read before."""
    try:
        for _ in range(2):
            link.orders()
    except EOFError:
        return True
    return False


@pytest.mark.parametrize(
    ("is_far", "kind", "leaves"),
    [
        (False, OutputKind.PORT, False),
        (False, OutputKind.LISTENER, True),
        (True, OutputKind.PORT, True),
        (True, OutputKind.LISTENER, True),
    ],
)
def test_another_machine_is_left_and_gone_to_with_another_engine(player, far, is_far, kind, leaves):
    """An engine is told of another output of its machine; for one elsewhere it ends."""
    player._is_far = is_far
    player.choose(Wish(kind))
    assert ended(far) == leaves
