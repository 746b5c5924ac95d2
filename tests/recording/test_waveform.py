"""The waveform: peaks where the sound is, in bounded memory, of broken files as far as they go."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
import soundfile

from tabterm.recording.audio import Recording
from tabterm.recording.waveform import Waveform, drawn

RATE = 8_000


def of(path, sound, rate=RATE, **how):
    soundfile.write(path, sound, rate, **how)
    return Waveform(Recording.opened(path))


def bursts(length_s, *moments_s):
    sound = np.zeros((round(length_s * RATE), 2))
    for at, level in moments_s:
        sound[round(at * RATE) : round((at + 0.1) * RATE), 1] = level
    return sound


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "aiff"])
def test_peaks_stand_where_it_is_loud(tmp_path, ending):
    waveform = of(tmp_path / f"a.{ending}", bursts(10, (2.0, 0.8), (7.0, 0.4)))
    assert waveform.peaks(0, 10, 10) == [0.0] * 10
    waveform.read()
    peaks = waveform.peaks(0, 10, 10)
    assert peaks[2] == 1.0
    assert peaks[7] == pytest.approx(0.5, abs=0.1)
    assert max(peak for n, peak in enumerate(peaks) if n not in {2, 7}) < 0.1
    assert waveform.trouble == ""


@pytest.mark.parametrize("window_s", [0.5, 3.0, 60.0, 600.0])
def test_every_zoom_sees_the_same_loudest_moment(tmp_path, window_s):
    waveform = of(tmp_path / "a.wav", bursts(600, (123.0, 0.9)))
    waveform.read()
    peaks = waveform.peaks(123.0 - window_s / 4, 123.0 + 3 * window_s / 4, 80)
    at_s = 123.0 - window_s / 4 + int(np.argmax(peaks)) * window_s / 80
    assert max(peaks) == 1.0
    assert at_s == pytest.approx(123.0, abs=window_s / 80 + 0.04)


def test_it_is_the_greatest_amplitude_and_nothing_else(tmp_path):
    """Against the samples themselves, at a zoom of a level higher up."""
    sound = np.random.default_rng(3).uniform(-1, 1, 40 * RATE) * np.linspace(0.1, 1, 40 * RATE)
    waveform = of(tmp_path / "a.wav", sound, subtype="FLOAT")
    waveform.read()
    wanted = np.abs(sound).reshape(20, -1).max(axis=1)
    assert waveform.peaks(0, 40, 20) == pytest.approx(wanted / wanted.max(), abs=0.02)


def test_two_hours_take_little_memory(tmp_path):
    """The peaks of two hours at 44.1 kHz; the file itself is read a second at a time."""
    path = tmp_path / "a.wav"
    soundfile.write(path, np.zeros(RATE), RATE)
    short = Recording.opened(path)
    tracemalloc.start()
    long = Recording(path, 44_100, 2, 2 * 3600 * 44_100)
    waveform = Waveform(long)
    waveform.peaks(0, 7200, 200)
    assert tracemalloc.get_traced_memory()[1] < 4_000_000
    tracemalloc.stop()
    assert short.length_s == 1.0


@pytest.mark.parametrize("ending", ["wav", "flac"])
def test_a_file_that_is_cut_off_is_read_as_far_as_it_goes(tmp_path, ending):
    path = tmp_path / f"a.{ending}"
    soundfile.write(path, np.random.default_rng(1).uniform(-0.5, 0.5, 20 * RATE), RATE)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    waveform = Waveform(Recording.opened(path))
    waveform.read()
    peaks = waveform.peaks(0, waveform.recording.length_s, 10)
    assert max(peaks[:3]) == pytest.approx(1.0, abs=0.02)
    if waveform.recording.length_s > 15:  # else the head was mended when it was opened
        assert path.name in waveform.trouble
        assert " s" in waveform.trouble


def test_it_can_be_stopped(tmp_path):
    waveform = of(tmp_path / "a.wav", bursts(30, (1.0, 0.5)))
    waveform.read(lambda part: part < 0.1)
    assert 0 < waveform.read_s < 6


def test_drawn_in_blocks_and_in_ascii():
    assert drawn([0.0, 0.25, 0.5, 1.0], 2) == ["   █", " ▄██"]
    assert drawn([0.0, 0.01, 1.0], 1) == [" ▁█"]
    assert drawn([0.0, 0.5, 1.0], 2, ascii_only=True) == ["  #", " ##"]
