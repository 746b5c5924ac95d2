"""The engine at a real JACK port: on time, stopped at once, never a hanging note."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import psutil
import pytest

from tabterm.performance import Options, perform
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tabterm.sound.player import Player
from tests.build import score

PHRASE = score("8 1.0,8 2.0,8 3.0,8 4.0,8 1.2,8 2.2,8 3.2,8 4.2", tempo=Tempo(300.0))
LONG = score("1 1.0 2.0", tempo=Tempo(30.0))


@pytest.fixture
def player():
    player = Player()
    yield player
    player.close()


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
    player.play(perform(PHRASE), port=recorder.name)
    wait_idle(player)
    assert [note[:2] for note in recorder.notes()] == [
        (0, 76), (1, 69), (2, 62), (3, 55), (0, 78), (1, 71), (2, 64), (3, 57),
    ]  # fmt: skip
    wait_silent(recorder)


def test_stop_is_instant_and_leaves_nothing_sounding(recorder, player):
    player.play(perform(LONG), port=recorder.name)
    recorder.wait_for(2)
    assert player.place() == Place(0)
    ordered = time.monotonic()
    player.stop()
    while recorder.sounding():
        assert time.monotonic() - ordered < 0.2
        time.sleep(0.001)
    assert player.state == "idle"
    assert player.place() is None


def test_a_loop_has_no_gap(recorder, player):
    performance = perform(PHRASE)
    player.play(performance, port=recorder.name, loop=3)
    wait_idle(player)
    starts = [t for t, m in recorder.received if m[0] == 0x90 and m[1] == 76]
    assert len(starts) == 3
    assert starts[1] - starts[0] == pytest.approx(performance.duration_s, abs=0.02)
    assert starts[2] - starts[1] == pytest.approx(performance.duration_s, abs=0.02)


def test_a_count_in_is_not_looped(recorder, player):
    player.play(perform(PHRASE, options=Options(count_in=1)), port=recorder.name, loop=2)
    wait_idle(player)
    assert sum(m[0] == 0x99 for _, m in recorder.received) == 4
    assert len([note for note in recorder.notes() if note[0] != 9]) == 16


def test_a_new_phrase_takes_over(recorder, player):
    player.play(perform(LONG), port=recorder.name)
    recorder.wait_for(2)
    player.play(perform(PHRASE), port=recorder.name)
    wait_idle(player)
    assert len(recorder.notes()) == 2 + 8
    wait_silent(recorder)


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_an_editor_that_dies_leaves_silence(recorder, how):
    code = (
        "import time\nfrom tabterm.performance import perform\nfrom tabterm.sound.player import Player\n"
        "from tests.sound.test_engine import LONG\n"
        f"player = Player()\nplayer.play(perform(LONG), port={recorder.name!r})\ntime.sleep(30)\n"
    )
    editor = subprocess.Popen([sys.executable, "-c", code], stderr=subprocess.DEVNULL)
    recorder.wait_for(2, timeout_s=15)
    engines = psutil.Process(editor.pid).children()
    editor.send_signal(how)
    editor.wait(5)
    deadline = time.monotonic() + 0.5
    while recorder.sounding() or any(engine.is_running() and engine.status() != "zombie" for engine in engines):
        assert time.monotonic() < deadline, (recorder.sounding(), engines)
        time.sleep(0.005)


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_signals_to_the_engine_leave_no_hanging_note(recorder, player, how):
    player.play(perform(LONG), port=recorder.name)
    recorder.wait_for(2)
    os.kill(player._process.pid, how)
    time.sleep(0.2)
    player.stop()
    time.sleep(0.2)
    wait_silent(recorder)
    player.play(perform(PHRASE), port=recorder.name)
    wait_idle(player)
    assert len(recorder.notes()) == 2 + 8


def test_a_missing_port_is_said_and_the_next_order_works(recorder, player):
    player.play(perform(PHRASE), port="no such port")
    wait_idle(player)
    assert player.state == "failed"
    assert "no port 'no such port'" in player.message
    player.play(perform(PHRASE), port=recorder.name)
    wait_idle(player)
    assert len(recorder.notes()) == 8


def test_ports_are_listed_and_a_virtual_one_can_be_made(recorder, player):
    assert any(recorder.name in name for name in player.ports())
    player.play(perform(PHRASE), port="tabterm-virtual", virtual=True)
    wait_idle(player)
    assert player.port_name == "tabterm-virtual"


def test_a_synthesiser_that_goes_away_does_not_stop_the_engine(jack, player):
    from tests.jack import Recorder

    gone = Recorder("goes-away")
    player.play(perform(LONG), port=gone.name)
    gone.wait_for(2)
    gone.close()
    time.sleep(0.1)
    player.stop()
    player.play(perform(PHRASE), port="goes-away")
    wait_idle(player)
    assert player.state == "failed"


def test_the_engine_loads_neither_screen_nor_score():
    heavy = ("textual", "pydantic", "mido", "numpy")
    code = f"import sys, tabterm.sound.engine; print([name for name in {heavy} if name in sys.modules])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"
