"""The audio device: the library's null device, which takes samples in real time, and JACK's as one that can go."""

from __future__ import annotations

import os
import signal
import time

import numpy as np
import psutil
import pytest

from tabterm.errors import SoundError
from tabterm.performance import Options, perform
from tabterm.score.tempo import Tempo
from tabterm.sound import audio_output, device, outputs
from tabterm.sound.audio_output import AudioOutput
from tabterm.sound.outputs import ANY, OutputKind, Wish
from tabterm.sound.plan import Plan
from tabterm.sound.position import joints
from tabterm.sound.ring import Ring
from tabterm.sound.synthesiser import RATE
from tabterm.sound.voicing import voicing_of
from tests.build import score
from tests.jack import start_server
from tests.sound.test_engine import player, port, wait_idle

__all__ = ["player"]

PHRASE = score("8 1.0,8 2.0,8 3.0,8 4.0", metre="2/4", tempo=Tempo(240.0))  # 0.5 s
LONG = score("1 1.0 2.0", tempo=Tempo(30.0))


@pytest.fixture(autouse=True)
def _null(monkeypatch):
    pytest.importorskip("miniaudio", reason="miniaudio has no wheel here")
    monkeypatch.setenv("TABTERM_AUDIO", "null")


def plan(performance, number=1, *, turns=1, follows=None):
    voicing = voicing_of(performance.instrument)
    met = joints(follows, performance) if follows else ()
    return Plan.of(performance, voicing, number=number, turns=turns, joints=met, follows=1 if follows else 0)


class Desk:
    """An audio output whose device is asked by the test, frame by frame."""

    def __init__(self, monkeypatch):
        desk = self

        class FakeDevice:
            name = "desk"

            def __init__(self, _wanted, _rate, take):
                desk.take, self.runs, self.there = take, False, True
                desk.device = self

            def start(self):
                self.runs = True

            def stop(self):
                self.runs = False

            def is_there(self):
                return self.there

            def close(self):
                self.runs = False

        monkeypatch.setattr(audio_output, "Device", FakeDevice)
        self.reports = []
        self.output = AudioOutput("", lambda word, **values: self.reports.append((word, values)))

    def hear(self, seconds):
        """So much sound, taken in the small pieces of a device, never before it is there."""
        pieces = []
        for _ in range(round(seconds * 100)):
            deadline = time.monotonic() + 5
            while self.output._ring.flows and self.output._ring.filled < RATE // 100:
                assert time.monotonic() < deadline
                time.sleep(0.001)
            pieces.append(self.take(RATE // 100))
            self.output.work()
        return np.concatenate(pieces)

    def words(self):
        return [word for word, _ in self.reports]


@pytest.fixture
def desk(monkeypatch):
    desk = Desk(monkeypatch)
    yield desk
    desk.output.close()


def wait_until(holds, timeout_s=5.0):
    deadline = time.monotonic() + timeout_s
    while not holds():
        assert time.monotonic() < deadline
        time.sleep(0.002)


def onset(samples):
    """The first frame that is heard."""
    return int(np.argmax(np.abs(samples).max(axis=1) > 1e-4))


def test_what_is_played_is_taken_and_its_end_told(desk):
    desk.output.play(plan(perform(PHRASE)))
    wait_until(lambda: desk.device.runs)
    heard = desk.hear(1.5)
    assert onset(heard) < 50
    assert 0.05 < np.abs(heard).max() <= 1.0
    assert desk.words() == ["turn", "turn", "ended"]
    assert desk.output.work() is not None  # the device is stopped later
    assert desk.output._ring.underruns == 0


def test_the_end_is_told_with_its_last_frame(desk):
    """0.8 s are 80 pieces: after 79 it is not over, after the next it is, though the strings still ring."""
    desk.output.play(plan(perform(score("4 1.0,4 2.0", metre="2/4", tempo=Tempo(150.0)))))
    wait_until(lambda: desk.device.runs)
    desk.hear(0.79)
    assert "ended" not in desk.words()
    desk.hear(0.01)
    assert desk.words()[-1] == "ended"


def test_stop_is_a_short_fade_without_a_click(desk):
    desk.output.play(plan(perform(LONG)))
    wait_until(lambda: desk.device.runs)
    desk.hear(0.3)
    desk.output.stop()
    heard = desk.hear(0.2)
    silent = audio_output.FADE_FRAMES
    assert np.abs(heard[: silent // 2]).max() > 0.01
    assert not heard[silent:].any()
    assert np.abs(np.diff(heard[:, 0])).max() < 0.2


def test_another_play_is_heard_at_once_and_in_place_of_the_first(desk):
    desk.output.play(plan(perform(LONG)))
    wait_until(lambda: desk.device.runs)
    desk.hear(0.3)
    desk.output.play(plan(perform(score("1 4.0", tempo=Tempo(120.0))), 2))
    wait_until(lambda: desk.output._ring.filled >= audio_output.AHEAD_FRAMES)
    heard = desk.hear(1.0)[audio_output.FADE_FRAMES :, 0]
    spectrum = np.abs(np.fft.rfft(heard[:32_768] * np.hanning(32_768)))
    hertz = np.fft.rfftfreq(32_768, 1 / RATE)
    low, high = (spectrum[abs(hertz - pitch) < 4].max() for pitch in (196.0, 440.0))  # G3; A4 of what sounded
    assert low > 100 * high


def test_a_change_is_heard_at_the_next_beat_without_a_gap(desk):
    performance, slow = perform(PHRASE), perform(PHRASE, options=Options(50))
    desk.output.play(plan(performance, turns=2))
    wait_until(lambda: desk.device.runs)
    first = desk.hear(0.1)
    desk.output.change(plan(slow, 2, turns=2, follows=performance))
    heard = np.concatenate((first, desk.hear(2.2)))[:, 0]
    energy = np.abs(heard[: len(heard) // 441 * 441]).reshape(-1, 441).max(axis=1)
    attacks = np.flatnonzero(energy[1:] > 1.6 * energy[:-1] + 0.005) + 1
    times = [0.0, *(attacks / 100)]
    # Eighths of 0.125 s up to the second beat at 0.25 s, then of 0.25 s.
    wanted = [0.0, 0.125, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5]
    assert [min(abs(each - time_s) for time_s in times) for each in wanted] == pytest.approx([0] * 8, abs=0.011)
    assert [number for word, values in desk.reports if word == "turn" for number in [values["number"]]][-1] == 2


def test_a_change_of_what_does_not_sound_is_told(desk):
    performance = perform(PHRASE)
    desk.output.change(plan(performance, 5, follows=performance))
    assert desk.reports == [("missed", {"number": 5})]


def test_the_end_is_that_of_a_change_which_took_over_there(desk):
    performance = perform(PHRASE)
    desk.output.play(plan(performance))
    wait_until(lambda: desk.device.runs)
    desk.hear(0.3)  # 70 ms more are rendered, and the second of the two beats has begun
    desk.output.change(plan(perform(PHRASE, options=Options(50)), 2, follows=performance))
    desk.hear(1.2)
    assert [(word, values["number"]) for word, values in desk.reports] == [("turn", 1), ("turn", 1), ("ended", 2)]


def test_samples_that_come_too_late_are_counted(desk):
    desk.output.play(plan(perform(LONG)))
    wait_until(lambda: desk.device.runs)
    desk.take(RATE)
    desk.output.work()
    assert ("underruns", {"count": 1}) in desk.reports


def test_an_instrument_that_fails_is_told(desk, monkeypatch):
    monkeypatch.setattr("tabterm.sound.rendition.Rendition.read", lambda *_: 1 / 0)
    desk.output.play(plan(perform(PHRASE)))
    wait_until(lambda: desk.output._error)
    with pytest.raises(SoundError, match="the built-in strings have failed"):
        desk.output.work()


def test_a_device_that_does_not_start_is_told_as_such(desk, monkeypatch):
    def refuse():
        raise SoundError("the audio device 'desk' does not start")

    monkeypatch.setattr(desk.device, "start", refuse, raising=False)
    desk.output.play(plan(perform(PHRASE)))
    wait_until(lambda: desk.output._error)
    with pytest.raises(SoundError, match=r"^the audio device"):
        desk.output.work()


def test_a_device_that_has_had_nothing_to_do_is_stopped(desk, monkeypatch):
    desk.output.play(plan(perform(PHRASE)))
    wait_until(lambda: desk.device.runs)
    desk.hear(1.2)
    wait_until(lambda: desk.output._rendition is None)
    due_s = desk.output.work()
    assert due_s > time.monotonic() + 1
    monkeypatch.setattr(audio_output.time, "monotonic", lambda: due_s)
    assert desk.output.work() is None
    assert not desk.device.runs


def test_a_ring_gives_back_what_was_put_in_whatever_the_pieces():
    ring, samples = Ring(100), np.arange(2_000, dtype=np.float32).reshape(-1, 2)
    taken, put = [], 0
    for size in (100, 1, 40, 59, 7, 90, 100, 33):
        room = min(100 - ring.filled, 1_000 - put)
        ring.put(samples[put : put + room])
        put += room
        taken.append(ring.take(size))
    assert np.array_equal(np.concatenate(taken), samples[: sum(map(len, taken))])
    assert ring.underruns == 0


def test_the_null_device_is_played_to_in_real_time(player):
    player.choose(Wish(OutputKind.DEVICE))
    performance = perform(PHRASE)
    player.play(performance, loop=2)
    ordered_s = time.monotonic()
    wait_until(lambda: player.position() is not None)
    assert player.position().performance is performance
    wait_idle(player)
    assert player.started_s - ordered_s < 3  # the engine was cold
    assert time.monotonic() - player.started_s == pytest.approx(1.0, abs=0.2)
    assert "NULL" in player.output_name


def test_sound_starts_within_60_ms_of_a_warm_engine(player):
    """To the sample that the device takes; what it keeps in its own buffer comes on top."""
    player.choose(Wish(OutputKind.DEVICE))
    player.start()
    player.outputs()
    waits_s = []
    for _ in range(5):
        ordered_s = time.monotonic()
        player.play(perform(PHRASE))
        wait_idle(player)
        waits_s.append(player.started_s - device.LATENCY_S - ordered_s)
    assert sorted(waits_s)[2] < 0.06


def test_the_editor_loads_neither_samples_nor_devices():
    import subprocess
    import sys

    heavy = ("numpy", "miniaudio", "rtmidi")
    code = f"import sys, tabterm.sound.playback; print([name for name in {heavy} if name in sys.modules])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"


def test_the_rule_takes_the_device_and_over_ssh_a_port(recorder, player, monkeypatch):
    player.play(perform(PHRASE))
    wait_idle(player)
    assert "NULL" in player.output_name
    player.close()
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.1 50000 192.0.2.2 22")
    player.play(perform(PHRASE))
    wait_idle(player)
    assert ":in" in player.output_name
    player.close()
    player.choose(Wish(OutputKind.DEVICE))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert "NULL" in player.output_name


def test_without_a_device_the_rule_takes_a_port(recorder, player, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "none")
    player.play(perform(PHRASE))
    wait_idle(player)
    assert ":in" in player.output_name


def test_a_device_that_does_not_exist_is_said_with_those_that_do(player):
    player.choose(Wish(OutputKind.DEVICE, "trumpet"))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.state == "failed"
    assert player.message == "no audio device 'trumpet' among: NULL Playback Device"


def test_sound_systems_are_named_with_blanks_or_without(monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "none, null")
    assert device.list_devices() == ["NULL Playback Device"]


def test_only_something_better_than_a_makeshift_is_opened(monkeypatch):
    opened = []
    monkeypatch.setattr(outputs, "_opened", lambda kind, *_: opened.append(kind))
    outputs.open_output(ANY, print, better_than=OutputKind.PORT)
    with pytest.raises(SoundError):
        outputs.open_output(ANY, print, better_than=OutputKind.DEVICE)
    assert opened == [OutputKind.DEVICE]


def test_a_device_that_goes_stops_nothing_and_one_that_comes_back_is_taken(monkeypatch, player):
    """The JACK server, here an audio device, is killed while it plays, and started again."""
    monkeypatch.setenv("TABTERM_AUDIO", "jack")
    name = f"tabterm-speaker-{os.getpid()}"
    server = start_server(name, loudspeakers=2)
    for variable, value in server.environment.items():
        monkeypatch.setenv(variable, value)
    try:
        player.choose(Wish(OutputKind.DEVICE))
        player.play(perform(LONG), loop=0)
        wait_until(lambda: player.position() is not None)
        engine = psutil.Process(player._process.pid)
        server.stop(signal.SIGKILL)
        wait_idle(player, timeout_s=3)
        assert player.message == "the audio device 'default device of JACK' is gone"
        player.play(perform(PHRASE))
        wait_idle(player)
        assert player.message == "no audio device here"
        server = start_server(name, loudspeakers=2)
        player.play(perform(PHRASE))
        wait_idle(player)
        assert (player.state, player.underruns) == ("idle", 0)
        assert not engine.is_running() or engine.status() == psutil.STATUS_ZOMBIE
    finally:
        server.stop()


def test_silence_now_ends_the_engine_and_its_device(player):
    player.choose(Wish(OutputKind.DEVICE))
    player.play(perform(LONG))
    wait_until(lambda: player.position() is not None)
    player.silence_now(1.0)
    assert player._process.poll() is not None


def test_a_wish_is_read_as_it_is_written():
    for text in ("auto", "device", "device:USB", "port", "port:Synth:in 128:0", "virtual:practice", "listener"):
        assert str(Wish.parse(text)) == text
    assert Wish.parse("") == ANY
    for text in ("organ", "organ:x", ":x", "auto:x"):
        with pytest.raises(SoundError, match="not an output"):
            Wish.parse(text)


def test_listing_says_what_can_be_named(player, recorder):
    found = player.outputs()
    assert ("device", "NULL Playback Device") in found
    assert ("port", f"{recorder.name}:in") in found
    player.choose(port(recorder.name))
    player.play(perform(PHRASE))
    wait_idle(player)
    assert player.output_name == f"{recorder.name}:in"
