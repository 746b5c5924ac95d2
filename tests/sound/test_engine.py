"""The engine at a real JACK port: on time, stopped at once, never a hanging note."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time

import psutil
import pytest

from tabterm.formats import native
from tabterm.performance import Options, perform
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tabterm.sound.outputs import OutputKind, Wish
from tabterm.sound.playback import Playback
from tests.build import score
from tests.jack import Recorder, start_server

PHRASE = score("16 1.0,16 2.0,16 3.0,16 4.0,16 1.2,16 2.2,16 3.2,16 4.2", metre="2/4", tempo=Tempo(300.0))  # 0.4 s
LONG = score("1 1.0 2.0", tempo=Tempo(30.0))


@pytest.fixture
def player():
    player = Playback()
    yield player
    player.close()


def port(name):
    return Wish(OutputKind.PORT, name)


def wait_idle(player, timeout_s=5.0):
    deadline = time.monotonic() + timeout_s
    while player.state == "playing":
        assert time.monotonic() < deadline
        time.sleep(0.01)


def wait_silent(recorder, timeout_s=0.2):
    """The last messages are still on their way when the engine says that it has sent them."""
    deadline = time.monotonic() + timeout_s
    while recorder.sounding():
        assert time.monotonic() < deadline, recorder.sounding()
        time.sleep(0.002)


def test_what_is_played_arrives(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert [note[:2] for note in recorder.notes()] == [
        (0, 76), (1, 69), (2, 62), (3, 55), (0, 78), (1, 71), (2, 64), (3, 57),
    ]  # fmt: skip
    wait_silent(recorder)


def test_stop_is_instant_and_leaves_nothing_sounding(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(LONG))
    recorder.wait_for(2)
    assert player.position().place == Place(0)
    ordered = time.monotonic()
    player.stop()
    while recorder.sounding():
        assert time.monotonic() - ordered < 0.2
        time.sleep(0.001)
    assert player.state == "idle"
    assert player.position() is None


def test_a_loop_has_no_gap(recorder, player):
    performance = perform(PHRASE)
    player.choose(port(recorder.name))
    player.play(performance, loop=3)
    wait_idle(player)
    starts = [t for t, m in recorder.received if m[0] == 0x90 and m[1] == 76]
    assert len(starts) == 3
    assert starts[1] - starts[0] == pytest.approx(performance.duration_s, abs=0.02)
    assert starts[2] - starts[1] == pytest.approx(performance.duration_s, abs=0.02)


def test_a_count_in_is_not_looped(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(PHRASE, options=Options(count_in=1)), loop=2)
    wait_idle(player)
    assert sum(m[0] == 0x99 for _, m in recorder.received) == 2
    assert len([note for note in recorder.notes() if note[0] != 9]) == 16


def test_a_new_phrase_takes_over(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(LONG))
    recorder.wait_for(2)
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert len(recorder.notes()) == 2 + 8
    wait_silent(recorder)


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_an_editor_that_dies_leaves_silence(recorder, how):
    code = (
        "import time\nfrom tabterm.performance import perform\nfrom tabterm.sound.playback import Playback\n"
        "from tests.sound.test_engine import LONG, port\n"
        f"player = Playback(port({recorder.name!r}))\nplayer.play(perform(LONG))\ntime.sleep(30)\n"
    )
    editor = subprocess.Popen([sys.executable, "-c", code], stderr=subprocess.DEVNULL)
    recorder.wait_for(2, timeout_s=60)
    engines = psutil.Process(editor.pid).children()
    editor.send_signal(how)
    editor.wait(60)
    deadline = time.monotonic() + 5  # the notes would sound for eight seconds
    while recorder.sounding() or any(engine.is_running() and engine.status() != "zombie" for engine in engines):
        assert time.monotonic() < deadline, (recorder.sounding(), engines)
        time.sleep(0.005)


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_signals_to_the_engine_leave_no_hanging_note(recorder, player, how):
    player.choose(port(recorder.name))
    player.play(perform(LONG))
    recorder.wait_for(2)
    os.kill(player._process.pid, how)
    time.sleep(0.2)
    player.stop()
    time.sleep(0.2)
    wait_silent(recorder)
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert len(recorder.notes()) == 2 + 8


def test_notes_of_an_engine_that_was_killed_are_silenced(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(LONG), loop=0)
    recorder.wait_for(2)
    player._process.kill()
    wait_idle(player)
    assert player.state == "failed"
    wait_silent(recorder, timeout_s=5.0)
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "idle"
    assert len(recorder.notes()) > 2  # a busy JACK may lose some of the eight


def test_play_ends_only_when_the_notes_of_a_killed_engine_are_silenced(recorder, tmp_path):
    path = tmp_path / "long.tabterm"
    path.write_bytes(native.write(LONG))
    words = [
        sys.executable,
        "-m",
        "tabterm",
        "play",
        str(path),
        "--loop",
        "0",
        "--output",
        f"port:{recorder.name}",
    ]
    play = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    recorder.wait_for(2, timeout_s=30)
    for engine in psutil.Process(play.pid).children():
        engine.kill()
    _, said = play.communicate(timeout=30)
    assert play.returncode == 2
    assert "the sound engine has stopped" in said
    wait_silent(recorder)


def test_a_missing_port_is_said_and_the_next_order_works(recorder, player):
    player.choose(port("no such port"))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "failed"
    assert "no port 'no such port'" in player.message
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert len(recorder.notes()) == 8


def test_ports_are_listed_and_a_virtual_one_can_be_made(recorder, player):
    assert any(recorder.name in name for _, name in player.outputs())
    player.choose(Wish(OutputKind.VIRTUAL, "tabterm-virtual"))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.output_name == "tabterm-virtual"


def test_a_synthesiser_that_goes_away_does_not_stop_the_engine(jack, player):
    gone = Recorder("goes-away")
    player.choose(port(gone.name))
    player.play(perform(LONG))
    gone.wait_for(2)
    gone.close()
    time.sleep(0.1)
    player.stop()
    player.choose(port("goes-away"))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "failed"


def test_the_engine_loads_neither_screen_nor_score():
    heavy = ("textual", "pydantic", "mido", "numpy", "miniaudio", "rtmidi")
    code = f"import sys, tabterm.sound.engine; print([name for name in {heavy} if name in sys.modules])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"


def test_a_midi_system_that_dies_ends_the_playing_and_nothing_else(monkeypatch, player):
    """The server is killed under the engine, whose library would then wait for it for ever."""
    server = start_server(f"tabterm-doomed-{os.getpid()}")
    for name, value in server.environment.items():
        monkeypatch.setenv(name, value)
    listen = "import rtmidi, time; p = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, 'victim')\n"
    listen += "p.open_virtual_port('in')\ntime.sleep(60)"
    victim = subprocess.Popen([sys.executable, "-c", listen], stderr=subprocess.DEVNULL)
    try:
        deadline = time.monotonic() + 5
        while not any(kind == "port" for kind, _ in player.outputs()):
            assert time.monotonic() < deadline
        player.choose(port("victim"))
        player.play(perform(LONG))
        while player.position() is None:
            assert player.state == "playing"
        engine = psutil.Process(player._process.pid)
        server.stop(signal.SIGKILL)
        wait_idle(player, timeout_s=1)
        assert player.state == "failed"
        assert player.message == "the port 'victim:in' is gone"
        engine.wait(0.5)
        player.choose(port("victim"))
        player.play(perform(LONG))
        wait_idle(player)
        assert player.message.startswith("no ")
    finally:
        victim.kill()
        victim.wait()
        server.stop(signal.SIGKILL)
        server.clear_away()


def test_a_port_that_goes_while_playing_is_told(jack, player):
    gone = Recorder("unplugged")
    player.choose(port(gone.name))
    player.play(perform(LONG))
    gone.wait_for(2)
    gone.close()
    wait_idle(player, timeout_s=1)
    assert (player.state, player.message) == ("failed", "the port 'unplugged:in' is gone")
    assert "again" in player.hint


def test_a_port_put_back_while_nothing_plays_is_connected_anew(jack, player):
    first = Recorder("replugged")
    player.choose(port(first.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    first.close()
    time.sleep(1.2)
    second = Recorder("replugged")
    player.choose(port(second.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    second.wait_for(8)
    second.close()


def test_the_ports_can_be_asked_for_while_music_plays(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    recorder.wait_for(1)
    assert ("port", f"{recorder.name}:in") in player.outputs()
    assert player.state == "playing"
    wait_idle(player)
    assert len(recorder.notes()) == 8


def test_bends_and_the_range_they_need_arrive(recorder, player):
    built = score("4 1.2,4 /1.4,2 1.0", tempo=Tempo(300.0))
    performance = perform(built)
    player.choose(port(recorder.name))
    player.play(performance)
    wait_idle(player)
    wait_silent(recorder)
    messages = [message for _, message in recorder.received]
    assert messages[: len(performance.setup)] == list(performance.setup)
    played = [message.data for message in performance.messages]
    assert messages[len(performance.setup) :][: len(played)] == played


def test_the_engine_silences_bends_and_every_channel_used_at_the_end(recorder, player):
    """MIDI 1.0: controller 123 is all notes off, 120 all sound off; 64 in the second byte is no bend."""
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    time.sleep(0.05)
    tail = [message for _, message in recorder.received][-8:]
    expected = [(bytes((0xB0 | channel, 123, 0)), bytes((0xE0 | channel, 0, 64))) for channel in range(4)]
    assert tail == [message for pair in expected for message in pair]
    recorder.received.clear()
    player.choose(port(recorder.name))
    player.play(perform(LONG))
    recorder.wait_for(2)
    player.stop()
    time.sleep(0.05)
    assert sum(m[1] == 120 for _, m in recorder.received if m[0] & 0xF0 == 0xB0) == 4


def test_a_long_score_sounds_soon_and_the_order_does_not_wait(recorder, player):
    """A thousand measures, as the whole of a long score; the work of `perform` is not counted.

    The order is measured in time of its thread on the processor; how soon the sound comes on a quiet machine is
    for `tests.bench`, which has a goal of 50 ms.
    """
    long = perform(score(*["16 1.0,16 1.2,8 1.3,8 1.5,8 1.0,2 2.0"] * 1000, tempo=Tempo(200.0)))
    player.choose(port(recorder.name))
    player.start()
    player.outputs()
    waits = []
    for _ in range(3):
        recorder.received.clear()
        ordered, began = time.monotonic(), time.thread_time()
        player.play(long)
        worked = time.thread_time() - began
        recorder.wait_for(1)
        first = next(t for t, m in recorder.received if m[0] & 0xF0 == 0x90)
        player.stop()
        waits.append((worked, first - ordered))
    assert min(order for order, _ in waits) < 0.025
    assert min(sound for _, sound in waits) < 1.0


def test_a_report_can_be_watched_for(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    reports = []
    while player._state == "playing":
        assert select.select([player.fileno()], [], [], 5)[0]
        player.receive()
        reports.append((player._state, player.output_name))
    assert reports[-1] == ("idle", f"{recorder.name}:in")
    assert len(reports) <= 3  # the output, the turn, the end; woken for nothing else


def test_silence_now_silences_within_a_tenth_of_a_second_and_the_engine_ends(recorder, player):
    player.choose(port(recorder.name))
    player.play(perform(LONG))
    recorder.wait_for(2)
    asked = time.monotonic()
    player.silence_now(0.1)
    assert time.monotonic() - asked < 0.15
    wait_silent(recorder, 0.05)
    player._process.wait(60)  # it lets the port take what was sent last, and then closes it


def test_lateness_is_told_where_it_is_asked_for(recorder, player):
    performance = perform(PHRASE)
    player.choose(port(recorder.name))
    player.play(performance, measures_lateness=True)
    wait_idle(player)
    assert len(player.late_s) == len(performance.messages)
    assert all(0 <= late_s < 1 for late_s in player.late_s)
