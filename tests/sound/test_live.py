"""Changes while it plays, at a real JACK port: on the next beat, without a gap, nothing left sounding."""

from __future__ import annotations

import time
from itertools import pairwise

import pytest

from tabterm.performance import Options, perform
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tests.build import score
from tests.sound.test_engine import player, port, wait_idle, wait_silent

__all__ = ["player"]

QUARTERS = score("4 1.0,4 1.2,4 1.3,4 1.5", "4 2.0,4 2.2,4 2.3,4 2.5", tempo=Tempo(240.0))  # 0.25 s each
HELD = score("1 1.0 2.0", tempo=Tempo(240.0))
HALF = Options(tempo_percent=50)
JITTER_S = 0.02
"""Two periods of the recording port, and what a machine with other work adds."""


def starts(recorder):
    return [(m[1], t) for t, m in recorder.received if m[0] & 0xF0 == 0x90 and m[2]]


def gaps(recorder):
    return [later - earlier for (_, earlier), (_, later) in pairwise(starts(recorder))]


def test_a_new_tempo_begins_at_the_next_beat(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(QUARTERS))
    recorder.wait_for(2)
    player.change(perform(QUARTERS, options=HALF))
    wait_idle(player)
    assert [pitch for pitch, _ in starts(recorder)] == [76, 78, 79, 81, 69, 71, 72, 74]
    assert gaps(recorder) == pytest.approx([0.25, 0.25, *[0.5] * 5], abs=JITTER_S)
    wait_silent(recorder)


def test_a_note_that_is_held_across_the_beat_is_not_struck_again(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(HELD))
    recorder.wait_for(2)
    time.sleep(0.1)
    player.change(perform(HELD, options=HALF))
    wait_idle(player)
    wait_silent(recorder)
    assert len(recorder.notes()) == 2
    on, off = (next(t for t, m in recorder.received if m[0] & 0xF0 == kind) for kind in (0x90, 0x80))
    assert off - on == pytest.approx(0.25 + 1.5, abs=JITTER_S)


def test_another_loop_begins_at_the_next_beat_and_turns_are_counted_on(recorder, player):
    player.choose(port(recorder.name))
    first, second = (perform(QUARTERS, span=Span.of_measures(n, n)) for n in (0, 1))
    player.play(first, loop=3)
    recorder.wait_for(5)  # in the second turn
    player.change(second)
    seen = set()
    while player.state == "playing":
        if (position := player.position()) is not None:
            seen.add((position.performance is second, position.turn, position.place))
        time.sleep(0.01)
    assert [pitch for pitch, _ in starts(recorder)] == [76, 78, 79, 81, 76, *[69, 71, 72, 74] * 2]
    assert gaps(recorder) == pytest.approx([0.25] * 12, abs=JITTER_S)
    assert {turn for new, turn, _ in seen if new} == {2, 3}
    assert {(place.measure, place.offset) for new, _, place in seen if new} == {(1, n) for n in range(4)}


def test_what_follows_begins_when_the_turns_are_over(recorder, player):
    player.choose(port(recorder.name))
    slow, fast = (
        perform(QUARTERS, span=Span.of_measures(0, 0), options=Options(percent)) for percent in (100, 200)
    )
    player.play(slow, loop=2)
    player.then(slow)
    player.then(fast, loop=2)
    wait_idle(player)
    assert gaps(recorder) == pytest.approx([0.25] * 8 + [0.125] * 7, abs=JITTER_S)
    wait_silent(recorder)


def test_what_follows_nothing_is_played_at_once(recorder, player):
    player.choose(port(recorder.name))
    player.then(perform(HELD))
    recorder.wait_for(2)
    assert player.position().place == Place(0)
    player.stop()
    player.change(perform(HELD))
    assert player.state == "idle"


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
        assert player.state == "playing"
        time.sleep(0.005)
    wait_idle(player)
    wait_silent(recorder)
    assert max(gaps(recorder)) == pytest.approx(0.25, abs=JITTER_S)


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


def test_bends_that_differ_are_set_where_another_takes_over(recorder, player):
    """MIDI 1.0: pitch bend is En, its middle 00 40."""
    bent = score("4 1.2,4 /1.4,2 1.4", tempo=Tempo(240.0))
    plain = score("4 1.2,4 1.3,2 1.5", tempo=Tempo(240.0))
    player.choose(port(recorder.name))
    player.play(perform(bent))
    recorder.wait_for(1)
    time.sleep(0.3)  # the slide has arrived, and the second beat is under way
    player.change(perform(plain))
    wait_idle(player)
    wait_silent(recorder)
    messages = [message for _, message in recorder.received]
    struck = max(at for at, m in enumerate(messages) if m[0] & 0xF0 == 0x90)
    bends = [m for m in messages[:struck] if m[0] == 0xE0]
    assert bends[-1] == b"\xe0\x00\x40"
    assert len(set(bends)) > 3
