"""Changes while it plays, at a real JACK port; `test_port_output.py` shows their exact times."""

from __future__ import annotations

import time

import pytest

from tabterm.performance import Options, perform
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tests.build import score
from tests.sound.test_engine import player, port, wait_idle, wait_silent

__all__ = ["player"]

QUARTERS = score("4 1.0,4 1.2,4 1.3,4 1.5", "4 2.0,4 2.2,4 2.3,4 2.5", tempo=Tempo(240.0))  # 0.25 s each
HELD = score("1 1.0 2.0", tempo=Tempo(240.0))
LATE_S = 0.1
"""What a machine with other work adds."""


def starts(recorder):
    return [(m[1], t) for t, m in recorder.received if m[0] & 0xF0 == 0x90 and m[2]]


def test_a_new_tempo_begins_at_the_next_beat(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(QUARTERS))
    recorder.wait_for(2)
    player.change(perform(QUARTERS, options=Options(50)))
    wait_idle(player)
    wait_silent(recorder)
    first, *_, last = starts(recorder)
    assert (first[0], last[0]) == (76, 74)
    assert last[1] - first[1] == pytest.approx(2 * 0.25 + 5 * 0.5, abs=LATE_S)


def test_the_position_follows_a_change_of_the_loop(recorder, player):
    player.choose(port(recorder.name))
    first, second = (perform(QUARTERS, span=Span.of_measures(n, n)) for n in (0, 1))
    player.play(first, loop=3)
    recorder.wait_for(5)  # in the second turn
    player.change(second)
    seen = []
    while player.state == "playing":
        position = player.position()
        if position is not None and (not seen or seen[-1] != position[:2] + position[3:]):
            seen.append(position[:2] + position[3:])
        time.sleep(0.01)
    assert all((performance is second) == (place.measure == 1) for performance, _, place in seen)
    assert [(turn, place.offset) for new, turn, place in seen if new is second][-4:] == [(3, n) for n in range(4)]
    assert seen == sorted(seen, key=lambda each: (each[0] is second, each[1], each[2]))


def test_what_follows_nothing_is_played_at_once(recorder, player):
    player.choose(port(recorder.name))
    player.then(perform(HELD))
    recorder.wait_for(2)
    assert player.position().place == Place(0)
    player.stop()
    player.change(perform(HELD))
    assert player.state == "idle"


def test_what_follows_is_played_to_its_end(recorder, player):
    player.choose(port(recorder.name))
    slow, fast = perform(HELD), perform(HELD, options=Options(200))
    player.play(slow)
    player.then(fast, loop=2)
    seen = set()
    while player.state == "playing":
        if (position := player.position()) is not None:
            seen.add((position.performance is fast, position.turn))
        time.sleep(0.01)
    assert seen == {(False, 1), (True, 1), (True, 2)}
    wait_silent(recorder)


def test_a_change_gives_up_what_was_to_follow(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(QUARTERS))
    player.then(perform(HELD), loop=0)
    recorder.wait_for(2)
    player.change(perform(QUARTERS, options=Options(200)))
    wait_idle(player)
    wait_silent(recorder)
    assert starts(recorder)[-1][0] == 74


def test_what_follows_a_change_that_came_too_late_still_does(recorder, player):
    """The first to follow may have begun before the change, or not: in both cases the last one is played."""
    player.choose(port(recorder.name))
    first, last = perform(HELD, options=Options(200)), perform(HELD, options=Options(150))
    for early_s in (0.1, 0.03, 0.01, 0.0):
        player.play(first)
        player.then(perform(HELD))
        while (at := player.position()) is None or (at.performance is first and at.at_s < 0.5 - early_s):
            time.sleep(0.001)
        player.change(perform(HELD, options=Options(120)))
        player.then(last)
        seen = set()
        while player.state == "playing":
            position = player.position()
            seen.add(position is not None and position.performance is last)
            time.sleep(0.005)
        assert True in seen, early_s


def test_changes_in_quick_succession_lose_nothing(recorder, player):
    """Each is told before the one before it has begun, some after: the last one is what is played to the end."""
    player.choose(port(recorder.name))
    player.play(perform(QUARTERS, options=Options(200)), loop=0)
    for percent in range(190, 90, -5):
        player.change(perform(QUARTERS, options=Options(percent)))
        time.sleep(0.03)
    last = perform(QUARTERS)
    player.change(last, loop=1)
    while player.position() is None or player.position().performance is not last:
        assert player.state == "playing", player.message
        time.sleep(0.005)
    wait_idle(player)
    wait_silent(recorder)


def test_stop_forgets_what_waits(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(HELD))
    recorder.wait_for(2)
    player.then(perform(QUARTERS))
    player.change(perform(QUARTERS))
    player.stop()
    wait_silent(recorder)
    time.sleep(0.4)
    assert len(recorder.notes()) == 2
