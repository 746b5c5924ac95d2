"""`tabterm slow`: the file that it writes, and what it refuses."""

from __future__ import annotations

import json

import numpy as np
import pytest
import soundfile

from tabterm.cli.main import main


@pytest.fixture
def recording(tmp_path):
    path = tmp_path / "take.wav"
    soundfile.write(path, 0.3 * np.sin(np.arange(48_000) / 10), 16_000)
    return path


def test_a_part_is_written_twice_as_long(recording, tmp_path, capsys):
    out = tmp_path / "slow.flac"
    assert main(["slow", str(recording), str(out), "--from", "1", "--to", "2"]) == 0
    found = soundfile.info(out)
    assert (found.frames, found.samplerate, found.channels) == (32_000, 16_000, 2)
    said = capsys.readouterr()
    assert f"{out}: FLAC written" in said.out
    assert "Start with the volume low" in said.out
    assert "own use" in said.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--tempo", "20%"], "cannot play at 20% of the speed (25 to 200)"),
        (["--semitones", "13"], "cannot move the pitch by 13 semitones"),
        (["--balance", "101"], "not a balance: 101"),
        (["--from", "3"], "no such part: 3 to 3 s"),
        (["--from", "2", "--to", "1"], "no such part: 2 to 1 s"),
        (["--from", "30", "--to", "40"], "no such part: 30 to 40 s (the recording is 3.0 s long)"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(recording, tmp_path, capsys, words, said):
    out = tmp_path / "slow.wav"
    assert main(["slow", str(recording), str(out), *words]) == 2
    assert said in capsys.readouterr().err
    assert not out.exists()


def test_the_recording_and_other_files_are_never_written_over(recording, tmp_path, capsys):
    before = recording.read_bytes()
    assert main(["slow", str(recording), str(recording)]) == 2
    assert main(["slow", str(recording), str(tmp_path / "a.txt")]) == 2
    assert recording.read_bytes() == before
    assert "already exists" in capsys.readouterr().err


@pytest.mark.parametrize("register", ["900", "900-300", "low-high", "-5-9"])
def test_a_register_goes_from_one_frequency_to_a_higher_one(recording, tmp_path, capsys, register):
    with pytest.raises(SystemExit):
        main(["slow", str(recording), str(tmp_path / "a.wav"), f"--register={register}"])
    assert "(write Hz from and to, such as 190-1400)" in capsys.readouterr().err


def test_one_side_is_heard_in_tune(tmp_path, capsys):
    """A4 at 432 Hz is 31.8 cents under 440 Hz: 1200 log2(432 / 440)."""
    t, path, out = np.arange(96_000) / 48_000, tmp_path / "low.wav", tmp_path / "a.wav"
    left = sum(0.5**k * np.sin(2 * np.pi * 432 * k * t) for k in (1, 2, 4))
    soundfile.write(path, np.stack([left, np.random.default_rng(1).normal(size=96_000) / 9], axis=1) / 2, 48_000)
    words = ["--tempo", "100%", "--side", "left", "--register", "100-3000", "--in-tune"]
    assert main(["slow", str(path), str(out), *words]) == 0
    assert "tuned -32 cents off A4 = 440 Hz" in capsys.readouterr().err
    sound, rate = soundfile.read(out)
    level = np.abs(np.fft.rfft(sound[20_000:70_000, 1] * np.hanning(50_000)))
    assert level.argmax() * rate / 50_000 == pytest.approx(440, abs=1)


def test_what_was_written_is_data_too(recording, tmp_path, capsys):
    out = tmp_path / "slow.wav"
    assert main(["slow", str(recording), str(out), "--json", "--in-tune"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["files"] == [{"written": str(out), "bytes": out.stat().st_size}]
    assert "cents off A4 = 440 Hz" in found["report"][0]
