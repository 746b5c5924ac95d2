"""A listener and what calls it: what is played arrives, and nothing goes on sounding, whatever happens."""

from __future__ import annotations

import os
import signal
import time
from itertools import pairwise

import pytest

from tabterm.score.tempo import Tempo
from tabterm.sound.link import Frame, Link
from tabterm.sound.remote import door, listener
from tabterm.sound.remote.address import LoopbackPort, SocketFile
from tabterm.sound.remote.handshake import PROTOCOL, far_token, make_token
from tabterm.sound.remote.inspection import MOST_NUMBER
from tests.build import score
from tests.sound.remote.near import (
    LONG,
    PITCHES,
    Far,
    Near,
    guest,
    is_gone,
    near,
    next_frame,
    opened,
    packed,
    phrases,
    sent,
    wait_until,
)
from tests.sound.remote.slow import SlowLine

__all__ = ["near", "opened"]


def test_a_phrase_is_played_at_the_other_end_and_lateness_is_told(near, recorder, opened):
    far = opened(Far(near.address))
    far.play(measures_lateness=True)
    asked = time.monotonic()
    turn = far.hear("turn")
    assert turn.values["number"] == 1
    assert abs(turn.values["start_s"] - asked) < 1
    assert len(far.hear("ended").body) % 8 == 0
    wait_until(lambda: [note[1] for note in recorder.notes()] == PITCHES)
    wait_until(lambda: not recorder.sounding())


def test_over_a_port_the_token_is_needed_at_both_ends(recorder, tmp_path, opened, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    token = make_token(far_token())
    found = opened(Near(LoopbackPort("127.0.0.1", 0), f"port:{recorder.name}", token))
    far = opened(Far(found.address))
    far.play()
    far.hear("ended")
    assert phrases(recorder) == 1
    far_token().write_text("00" * 32)
    stranger = opened(Far(found.address))
    stranger.play()
    assert "has a different token" in stranger.hear("failed").values["message"]
    far_token().unlink()
    stranger.play(number=2)
    assert "token is missing here" in stranger.hear("failed").values["message"]
    assert phrases(recorder) == 1


def test_a_stop_is_obeyed_at_once(near, recorder, opened):
    far = opened(Far(near.address))
    far.play(LONG)
    recorder.wait_for(1)
    far.link.send("stop")
    wait_until(lambda: not recorder.sounding(), 2.0)


def test_a_plan_takes_the_place_of_what_sounds_and_another_follows(near, recorder, opened):
    far = opened(Far(near.address))
    far.play(LONG)
    recorder.wait_for(1)
    far.play(number=2)
    body, values = packed(number=3)
    far.link.send("then", body, **values)
    far.hear("turn")
    assert far.hear("ended").values["number"] == 3
    assert phrases(recorder) == 2


@pytest.mark.parametrize("how", ["the editor is left", "the caller is killed", "the listener is left"])
def test_when_the_line_drops_there_is_silence_at_once(how, near, recorder, opened):
    far = opened(Far(near.address))
    far.play(LONG, turns=0)
    recorder.wait_for(1)
    if how == "the editor is left":
        far.link.close()
    elif how == "the caller is killed":
        far.process.send_signal(signal.SIGKILL)
    else:
        near.close()
    wait_until(lambda: not recorder.sounding(), 2.0)
    if how == "the listener is left":
        told = far.hear("failed").values
        assert told["message"] == "the connection to the listener dropped; it is silent now"
        assert "again" in told["hint"]


def test_a_listener_that_comes_back_is_called_anew(near, recorder, opened):
    far = opened(Far(near.address))
    far.play()
    far.hear("ended")
    near.close()
    far.play(number=2)
    assert "tabterm listen" in far.hear("failed").values["hint"]
    again = opened(Near(near.address, f"port:{recorder.name}"))
    far.play(number=3)
    far.hear("ended")
    assert phrases(recorder) == 2
    again.close()
    third = opened(Near(near.address, f"port:{recorder.name}"))
    third.wait_for_line("an editor has connected")  # without being asked


def test_a_list_of_many_ports_is_no_fault_of_the_line(recorder, tmp_path, opened, monkeypatch):
    """As JACK's bridge to ALSA names them, with brackets."""
    tmp_path.chmod(0o700)
    found = opened(Near(SocketFile(tmp_path / "listen.sock"), "port:another"))
    far = opened(Far(found.address))
    names = "; ".join(f"a2j:Synth [{number}] (playback): out" for number in range(30))
    message = f"no port 'another' among: {names}"
    report = Frame("failed", {"number": MOST_NUMBER + 1, "message": message, "hint": "", "ends": False}, b"")
    monkeypatch.setattr(found.listener._engine, "order", lambda *_, **__: found.listener._report(report) or True)
    far.play()
    assert far.hear("failed").values["message"] == message[:200]


def test_an_idle_editor_makes_way_and_comes_back_when_it_plays(near, recorder, opened):
    first, second = opened(Far(near.address)), opened(Far(near.address))
    near.wait_for_line("an editor has connected")
    for number, far in enumerate((first, second, first, second), 1):
        far.play(number=number)
        far.hear("ended")
    assert phrases(recorder) == 4


def test_an_editor_that_is_heard_is_not_interrupted(near, recorder, opened):
    first = opened(Far(near.address))
    first.play(LONG, turns=0)
    recorder.wait_for(1)
    second = opened(Far(near.address))
    second.play()
    told = second.hear("failed").values
    assert told["message"] == "another editor is playing through this listener"
    assert told["hint"] == "stop it there first"
    assert recorder.sounding()
    first.link.send("stop")
    wait_until(lambda: not recorder.sounding())
    second.play(number=2)
    second.hear("ended")


@pytest.mark.parametrize("how", ["stopped", "left"])
def test_a_turn_told_when_it_was_over_keeps_nobody_out(how, near, recorder, opened):
    """The engine may begin a turn just before it hears that it is to stop."""
    first = opened(Far(near.address))
    first.play(LONG, turns=0)
    recorder.wait_for(1)
    if how == "left":
        first.close()
        near.wait_for_line("the editor has left")
    else:
        first.link.send("stop")
    wait_until(lambda: not recorder.sounding())
    values = {"number": MOST_NUMBER + 1, "turn": 2, "at_s": 0.0, "start_s": time.monotonic()}
    near.listener._report(Frame("turn", values, b""))
    second = opened(Far(near.address))
    second.play(number=1)
    second.hear("ended")


def test_a_change_that_comes_after_the_end_keeps_nobody_out(near, opened):
    first = opened(Far(near.address))
    first.play()
    first.hear("ended")
    body, values = packed(number=2, follows=1)
    first.link.send("change", body, **values)
    first.hear("missed")
    second = opened(Far(near.address))
    second.play()
    second.hear("ended")


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_an_engine_that_dies_is_told_and_another_takes_its_place(how, near, recorder, opened):
    far = opened(Far(near.address))
    far.play(LONG, turns=0)
    recorder.wait_for(1)
    near.lines.clear()
    os.kill(near.listener._engine._process.pid, how)
    told = far.hear("failed").values
    assert told["message"] == "the sound engine of the listener has ended"
    wait_until(lambda: not recorder.sounding())
    near.wait_for_line("the sound goes to")
    recorder.received.clear()
    far.play(number=2)
    far.hear("ended")
    assert phrases(recorder) == 1


def test_turns_are_told_evenly_over_an_uneven_line(near, opened, tmp_path):
    """Turns of 0.1 s are 0.1 s apart on the editor's clock too, though each report is 20 to 120 ms late."""
    opened(SlowLine(SocketFile(tmp_path / "far.sock"), near.address, least_s=0.02, jitter_s=0.1))
    far = opened(Far(tmp_path / "far.sock"))
    far.play(score("8 1.0", metre="1/8", tempo=Tempo(300.0)), turns=30)
    starts = [far.hear("turn").values["start_s"] for _ in range(30)]
    steps = [after - before for before, after in pairwise(starts[15:])]
    assert steps == pytest.approx([0.1] * 14, abs=0.03)


def test_a_turn_is_drawn_one_way_before_it_is_heard(near, recorder, opened, tmp_path):
    """What is drawn at this end 0.1 s before it is heard arrives with it; both clocks are one here."""
    opened(SlowLine(SocketFile(tmp_path / "far.sock"), near.address, least_s=0.1, jitter_s=0.0))
    far = opened(Far(tmp_path / "far.sock"))
    far.play(score("4 1.0", metre="1/4", tempo=Tempo(200.0)), turns=6)
    drawn_s = [far.hear("turn").values["start_s"] for _ in range(6)][-1]
    far.hear("ended")
    heard_s = [at_s for at_s, message in recorder.received if message[0] & 0xF0 == 0x90]
    assert min(abs(at_s - drawn_s - 0.1) for at_s in heard_s) < 0.05


def test_who_does_not_say_hello_is_sent_away(near, monkeypatch, opened):
    monkeypatch.setattr(door, "HELLO_WITHIN_S", 0.1)
    silent = near.address.connect()
    near.wait_for_line("did not identify itself within 0.1 s")
    silent.close()


def test_of_too_many_that_say_nothing_the_oldest_makes_way(near, monkeypatch, opened):
    monkeypatch.setattr(door, "HELLO_WITHIN_S", 600.0)
    standing = [opened(Link(near.address.connect())) for _ in range(door.MOST_VISITORS + 1)]
    near.wait_for_line("too many at once")
    assert is_gone(standing[0])
    assert next_frame(standing[-1]).word == "hello"
    far = opened(Far(near.address))
    far.play()
    far.hear("ended")


def test_an_editor_that_says_nothing_more_is_silenced(near, recorder, monkeypatch):
    monkeypatch.setattr(listener, "SILENT_FOR_S", 0.5)
    link = guest(near)
    sent(link, *packed(LONG, turns=0))
    recorder.wait_for(1)
    assert is_gone(link)
    wait_until(lambda: not recorder.sounding(), 2.0)
    near.wait_for_line("it has been silent for 0.5 s")
    link.close()


def test_each_end_says_that_it_is_there(near, monkeypatch):
    monkeypatch.setattr(listener, "ALIVE_EVERY_S", 0.05)
    link = guest(near)
    assert next_frame(link).word in {"alive", "output"}
    assert next_frame(link).word == "alive"
    link.close()


def test_a_caller_ends_in_order_when_its_editor_has_gone(near):
    far = Far(near.address)
    far.close()
    assert far.process.returncode == 0


def test_a_version_that_differs_is_told_at_both_ends(near, opened, monkeypatch):
    monkeypatch.setattr("tabterm.sound.remote.handshake.PROTOCOL", "2.x")
    far = opened(Far(near.address))
    far.play()
    assert "(protocol 2.x), this is tabterm" in far.hear("failed").values["message"]
    near.wait_for_line(f"(protocol {PROTOCOL}), this is tabterm")


def test_what_waits_at_a_socket_and_is_no_listener_is_told(tmp_path, opened):
    tmp_path.chmod(0o700)
    address = SocketFile(tmp_path / "other.sock")
    with address.bind() as other:
        far = opened(Far(address))
        other.accept()[0].close()
        far.play()
        other.accept()[0].close()
        assert "no listener at the other end" in far.hear("failed").values["message"]
