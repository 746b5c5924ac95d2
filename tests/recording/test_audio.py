"""Recordings as files: any rate, any length of a part, and what is no recording."""

from __future__ import annotations

import os

import numpy as np
import pytest
import soundfile

from tabterm.errors import FormatError, StorageError
from tabterm.recording.audio import Recording


def tone(rate_hz, length_s=1.0, hz=440.0):
    return np.sin(2 * np.pi * hz * np.arange(round(rate_hz * length_s)) / rate_hz).astype(np.float32)


def strongest(sound, rate_hz):
    return np.abs(np.fft.rfft(sound * np.hanning(len(sound)))).argmax() * rate_hz / len(sound)


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3", "aiff"])
@pytest.mark.parametrize("rate_hz", [16_000, 44_100, 48_000])
def test_a_recording_of_any_kind_and_rate_keeps_its_pitch(tmp_path, ending, rate_hz):
    path = tmp_path / f"a.{ending}"
    soundfile.write(path, np.stack([tone(rate_hz), tone(rate_hz)], axis=1) * 0.5, rate_hz)
    found = Recording.opened(path)
    assert (found.rate_hz, found.channels) == (rate_hz, 2)
    assert found.length_s == pytest.approx(1, abs=0.06)
    sound = found.mono(0.0, 1.0, 22_050)
    assert len(sound) == pytest.approx(22_050, abs=60)
    assert strongest(sound[2000:20_000], 22_050) == pytest.approx(440, abs=2)
    assert np.abs(sound[2000:20_000]).max() == pytest.approx(0.5, abs=0.03)


def test_a_part_begins_and_ends_where_it_is_asked(tmp_path):
    path = tmp_path / "a.wav"
    soundfile.write(
        path, np.concatenate([np.zeros(8000, np.float32), tone(8000), np.zeros(8000, np.float32)]), 8000
    )
    sound = Recording.opened(path).mono(0.5, 1.5, 22_050)
    loud = np.flatnonzero(np.abs(sound) > 0.5)
    assert len(sound) == pytest.approx(22_050, abs=2)
    assert loud[0] / 22_050 == pytest.approx(0.5, abs=0.005)


def test_numbers_that_are_none_are_silence(tmp_path):
    path = tmp_path / "a.wav"
    sound = tone(8000)
    sound[1000:1100] = np.nan
    soundfile.write(path, sound, 8000, subtype="FLOAT")
    assert np.isfinite(Recording.opened(path).mono(0, 1, 8000)).all()


@pytest.mark.parametrize("data", [b"", b"RIFF", b"not audio at all" * 9, bytes(range(256))])
def test_what_is_no_audio_is_refused_in_one_line(tmp_path, data):
    path = tmp_path / "a.wav"
    path.write_bytes(data)
    with pytest.raises(FormatError, match="not an audio file") as caught:
        Recording.opened(path)
    assert "\n" not in str(caught.value)


def test_a_recording_that_is_cut_off_gives_what_is_there(tmp_path):
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(8000), 8000)
    path.write_bytes(path.read_bytes()[:9000])
    assert 0 < len(Recording.opened(path).mono(0, 1, 8000)) < 8000


def test_what_cannot_be_opened_is_said(tmp_path):
    with pytest.raises(StorageError, match="cannot be read"):
        Recording.opened(tmp_path / "none.wav")
    os.mkfifo(tmp_path / "pipe.wav")
    with pytest.raises(StorageError, match="pipe"):
        Recording.opened(tmp_path / "pipe.wav")


def test_an_empty_recording_is_refused(tmp_path):
    path = tmp_path / "a.wav"
    soundfile.write(path, np.zeros(0, np.float32), 8000)
    with pytest.raises(FormatError, match="the recording is empty"):
        Recording.opened(path)
