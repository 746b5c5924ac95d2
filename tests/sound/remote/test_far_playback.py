"""The player through a listener: the same as through an engine of its own, with a line between."""

from __future__ import annotations

import time

import pytest

from tabterm.performance import Options, perform
from tabterm.score.tempo import Tempo
from tabterm.sound.device import VARIABLE as BACKENDS
from tabterm.sound.outputs import Wish
from tabterm.sound.playback import Playback
from tabterm.sound.remote.address import SocketFile
from tabterm.sound.remote.call import VARIABLE, reach
from tests.build import score
from tests.sound.remote.near import LONG, PHRASE, Near, near, opened, phrases, wait_until
from tests.sound.remote.slow import SlowLine

__all__ = ["near", "opened"]


def through(address):
    player = Playback(Wish.parse(f"listener:{address}"), reach_listener=reach)
    player.start()
    return player


def wait_idle(player, timeout_s=6.0):
    wait_until(lambda: player.state != "playing", timeout_s)


def test_what_is_played_arrives_and_where_it_is_is_known(near, recorder, opened):
    player = opened(through(near.address))
    player.play(perform(PHRASE), loop=3)
    wait_until(lambda: player.position() is not None)
    assert player.output_name == f"the listener's {recorder.name}:in"
    places = set()
    while player.state == "playing":
        places.add(getattr(player.position(), "turn", None))
        time.sleep(0.01)
    assert places >= {1, 2, 3}
    assert (player.state, player.message) == ("idle", "")
    assert phrases(recorder) == 3


def test_a_change_takes_over_at_the_next_beat_and_what_follows_comes_after_the_turn(near, recorder, opened):
    """Four measures, changed after the first beat or later to the same two frets higher, and then one measure."""
    before, after = (line(*[fret] * 4) for fret in (0, 2))
    player = opened(through(near.address))
    player.play(perform(before), loop=0)
    recorder.wait_for(4)
    player.change(perform(after), loop=1)
    player.then(perform(line(5)))
    wait_idle(player)
    heard = [note[1] for note in recorder.notes()]
    beats = next(number for number in range(9) if heard[4 * number] == 78)
    assert beats >= 1
    assert heard == [76] * 4 * beats + [78] * 4 * (8 - beats) + [81] * 8


def line(*frets):
    """A measure of sixteenths for each fret of the first course: 0.4 s."""
    return score(*[",".join([f"16 1.{fret}"] * 8) for fret in frets], metre="2/4", tempo=Tempo(300.0))


def test_over_a_slow_line_the_notes_keep_their_times(near, recorder, opened, tmp_path):
    far = SocketFile(tmp_path / "far.sock")
    line = opened(SlowLine(far, near.address))
    player = opened(through(far))
    wait_until(lambda: any("an editor has connected" in said for said in near.lines))
    time.sleep(0.3)
    ordered = time.monotonic()
    player.play(perform(LONG), loop=0)
    recorder.wait_for(1)
    started = next(time_s for time_s, message in recorder.received if message[0] & 0xF0 == 0x90)
    assert started - ordered < 0.6  # one round trip of 0.3 to 0.5 s, and what a busy machine adds
    wait_until(lambda: player.position() is not None)
    assert player.started_s > ordered
    line.cut()
    wait_until(lambda: not recorder.sounding(), 2.0)
    wait_idle(player)
    assert (player.state, player.message) == (
        "failed",
        "the connection to the listener dropped; it is silent now",
    )
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "idle"


def test_over_a_slow_line_the_last_of_many_changes_is_what_sounds(near, recorder, opened, tmp_path):
    """Some begin before the next one has come: five beats a second, and a line of 0.3 to 0.5 s both ways."""
    far = SocketFile(tmp_path / "far.sock")
    opened(SlowLine(far, near.address))
    player = opened(through(far))
    quarters = score("4 1.0,4 1.2,4 1.3,4 1.5", tempo=Tempo(300.0))
    player.play(perform(quarters), loop=0)
    wait_until(lambda: player.position() is not None)
    for percent in range(95, 60, -5):
        player.change(perform(quarters, options=Options(percent)))
        time.sleep(0.11)
    last = perform(quarters)
    player.change(last)
    wait_until(lambda: player.position().performance is last, 5.0, lambda: player.message)


def test_a_listener_that_is_found_goes_before_the_outputs_here(recorder, tmp_path, opened, monkeypatch):
    tmp_path.chmod(0o700)
    address = SocketFile(tmp_path / "listen.sock")
    monkeypatch.setenv(VARIABLE, str(address))
    player = opened(Playback(reach_listener=reach))
    player.start()
    assert not player._is_far
    listening = opened(Near(address, f"port:{recorder.name}"))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert (player.message, player.output_name) == ("", f"the listener's {recorder.name}:in")
    assert player.outputs()[0] == ("listener", str(address))
    listening.close()
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "failed"
    player.start()
    assert not player._is_far  # there is none any more


@pytest.mark.parametrize("wanted", ["/nowhere/listen.sock", "127.0.0.1:1", "192.0.2.1:4000"])
def test_a_listener_that_is_named_and_cannot_be_called_is_told(wanted, opened):
    player = opened(through(wanted))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "failed"
    assert wanted.partition(":")[0] in player.message
    assert player.hint


def test_what_is_too_long_is_told_before_it_is_sent(near, opened, monkeypatch):
    player = opened(through(near.address))
    performance = perform(PHRASE)
    many = performance.messages * 50_000
    object.__setattr__(performance, "messages", many)
    player.play(performance)
    wait_idle(player, 20)
    assert player.message == "too long to send to the listener"
    assert player.hint == "play fewer measures at once"


def test_the_audio_device_of_the_listener_is_played_to(tmp_path, opened, monkeypatch):
    pytest.importorskip("miniaudio")
    monkeypatch.setenv(BACKENDS, "null")
    tmp_path.chmod(0o700)
    listening = opened(Near(SocketFile(tmp_path / "listen.sock"), "device"))
    listening.wait_for_line("the sound goes to the audio device", 20)
    player = opened(through(listening.address))
    player.play(perform(PHRASE), loop=2)
    wait_until(lambda: player.position() is not None)
    wait_idle(player)
    assert (player.state, player.message) == ("idle", "")
