"""What the player orders, and what it makes of reports, with the test at the engine's end of the link."""

from __future__ import annotations

import socket
import subprocess
import sys

import pytest

from tabterm.performance import Options, perform
from tabterm.sound import player as player_module
from tabterm.sound.link import Link
from tabterm.sound.player import Player
from tests.build import score

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

    def turn(self, number, turn=1, at_s=0.0):
        self.tell("turn", number, turn=turn, at_s=at_s, start_s=0.0)


@pytest.fixture
def player():
    return Player()


@pytest.fixture
def far(player, monkeypatch):
    ours, its = socket.socketpair()
    process = subprocess.Popen([sys.executable, "-S", "-c", ""])
    monkeypatch.setattr(player_module, "reach_engine", lambda: (process, Link(ours)))
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
