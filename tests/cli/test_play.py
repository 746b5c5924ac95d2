"""`tabterm play` and `tabterm ports`, run as a player runs them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

import pytest

from tabterm import formats
from tabterm.piece import practice
from tabterm.score.model import ChordMark
from tabterm.score.tempo import Tempo
from tests.build import measure, score


def tabterm(*words, **options):
    return subprocess.run(
        [sys.executable, "-m", "tabterm", *words],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
        **options,
    )


@pytest.fixture
def tune(tmp_path):
    """A pickup, which players number 0, and two measures, quick to play."""
    path = tmp_path / "tune.tabterm"
    built = score(measure("4 1.0", short=True), "2 1.2,2 1.3", "2 2.0,2 2.2", tempo=Tempo(400.0))
    formats.write(path, built)
    return path


@pytest.fixture
def no_midi():
    """An environment in which no MIDI system answers."""
    options = {"env": os.environ | {"JACK_NO_START_SERVER": "1", "JACK_DEFAULT_SERVER": f"none-{os.getpid()}"}}
    if not tabterm("ports", **options).stdout.startswith("no audio device and no MIDI port"):
        pytest.skip("this machine has MIDI ports beside JACK's")
    return options


def test_measures_are_played_by_their_numbers(recorder, tune):
    done = tabterm("play", str(tune), "--from", "1", "--to", "1", "--output", f"port:{recorder.name}")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"playing {tune}, measure 1, to {recorder.name}:in (Ctrl-C stops)\n"
    assert [note[1] for note in recorder.notes()] == [78, 79]
    assert not recorder.sounding()


def test_the_whole_is_played_again_with_a_count_and_a_click(recorder, tune):
    output = f"port:{recorder.name}"
    words = ("--loop", "2", "--count-in", "1", "--click", "beats", "--tempo", "200%", "--output", output)
    assert tabterm("play", str(tune), *words).returncode == 0
    assert [note[1] for note in recorder.notes() if note[0] == 0] == [76, 78, 79] * 2
    assert len([note for note in recorder.notes() if note[0] == 9]) == 3 + 2 * 9


def test_the_band_plays_along_and_names_chords_that_it_does_not_know(recorder, tmp_path):
    """Chords (7-5-2, the chop) on channel 11, bass on 12, counted from 1; swing moves nothing on a beat."""
    marks = (ChordMark(offset=Fraction(0), symbol="G"), ChordMark(offset=Fraction(3), symbol="G7wat"))
    path = tmp_path / "band.tabterm"
    formats.write(path, score(measure("1 1.0", chords=marks), tempo=Tempo(200.0)))
    words = ("--style", "bass-and-chop", "--no-groove", "--swing", "2:1", "--output", f"port:{recorder.name}")
    done = tabterm("play", str(path), *words)
    assert done.returncode == 0
    assert done.stderr == f"{path}: measure 1, beat 4: the chord 'G7wat' is not understood: kept, but silent\n"
    assert sorted(note[:2] for note in recorder.notes()) == [
        (0, 76),
        *[(10, n) for n in (62, 67, 71)],
        (11, 43),
        (11, 50),
    ]
    assert not recorder.sounding()


def test_ctrl_c_stops_without_a_fault_or_a_hanging_note(recorder, tmp_path):
    path = tmp_path / "long.tabterm"
    formats.write(path, score("1 1.0 2.0", tempo=Tempo(20.0)))
    playing = subprocess.Popen(
        [sys.executable, "-m", "tabterm", "play", str(path), "--loop", "0", "--output", f"port:{recorder.name}"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert playing.stdout.readline().endswith("(Ctrl-C stops)\n")
    recorder.wait_for(2, timeout_s=15)
    playing.send_signal(signal.SIGINT)
    _, errors = playing.communicate(timeout=60)
    assert (playing.returncode, errors) == (0, f"{practice.BEFORE_LOOPS}\n")
    deadline = time.monotonic() + 0.2
    while recorder.sounding():
        assert time.monotonic() < deadline
        time.sleep(0.005)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--from", "9"), "no measure 9 (0 to 2)"),
        (("--from", "2", "--to", "1"), "the last measure comes before the first"),
        (("--tempo", "10%"), "cannot play at 10 percent (20 to 200)"),
        (("--loop", "-1"), "cannot play -1 times"),
        (("--mute-tab",), "nothing left to hear (chords and bass need chord symbols"),
        (("--swing", "2"), "not a swing: '2' (write 2:1, '16 3:2' for sixteenths, or off)"),
        (("--output", "organ"), "not an output: 'organ' (device, device:NAME, port"),
    ],
)
def test_bad_numbers_are_refused_in_one_line(tune, words, said):
    done = tabterm("play", str(tune), *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert done.stderr.count("\n") == 1


def test_without_an_output_another_way_is_named(tune, no_midi):
    done = tabterm("play", str(tune), **no_midi)
    assert done.returncode == 2
    assert done.stderr.startswith("tabterm: no audio device here; no MIDI ")
    assert "tabterm render FILE OUT.wav" in done.stderr
    assert done.stderr.count("\n") == 1
    listed = tabterm("ports", **no_midi)
    assert (listed.returncode, listed.stderr) == (0, "")
    assert "tabterm render FILE OUT.wav" in listed.stdout


def test_ports_are_listed_a_line_each(recorder):
    listed = tabterm("ports")
    assert (listed.returncode, listed.stderr) == (0, "")
    assert f"port:{recorder.name}:in" in listed.stdout.splitlines()


def test_the_audio_device_is_played_to_and_listed(tune, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    assert tabterm("ports").stdout.splitlines()[0].startswith("device:")
    for words in ((), ("--output", "device"), ("--output", "device:playback")):
        done = tabterm("play", str(tune), "--to", "0", *words)
        assert (done.returncode, done.stderr) == (0, "")
        assert "device" in done.stdout.lower()


def test_the_configured_output_is_played_to(recorder, tune, monkeypatch):
    configuration = Path(os.environ["XDG_CONFIG_HOME"]) / "tabterm" / "config.toml"
    configuration.parent.mkdir(parents=True)
    configuration.write_text(f"[sound]\noutput = 'port:{recorder.name}'\n")
    assert f"to {recorder.name}:in " in tabterm("play", str(tune), "--to", "0").stdout


def test_a_virtual_port_can_be_played_to(jack, tune):
    done = tabterm("play", str(tune), "--output", "virtual:practice", stdin=subprocess.DEVNULL)
    assert done.returncode == 0
    assert "to practice (Ctrl-C stops)" in done.stdout
