"""What of a recording is heard: sides, centre, balance, a register."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from tabterm.recording.audio import Recording
from tabterm.recording.mix import Mix, Side

RATE = 44_100
T = np.arange(RATE) / RATE
LOW, SOLO, HIGH = (np.sin(2 * np.pi * hz * T).astype(np.float32) / 4 for hz in (100, 700, 5000))


def heard(tmp_path, mix, left, right):
    soundfile.write(tmp_path / "a.wav", np.stack([left, right], axis=1), RATE, subtype="FLOAT")
    opened = Recording.opened(tmp_path / "a.wav")
    whole = Recording(opened.path, opened.rate_hz, opened.channels, opened.frames, mix)
    sound = np.concatenate(list(whole.stereo(0, 1)))
    assert sound.shape == (RATE, 2)
    return sound


def level(sound, hz):
    inner = sound[4000:-4000]
    return 2 * abs(np.mean(inner * np.exp(-2j * np.pi * hz * T[4000:-4000])))


@pytest.mark.parametrize(
    ("side", "ears"),
    [
        (Side.BOTH, (LOW + SOLO, HIGH + SOLO)),
        (Side.LEFT, (LOW + SOLO, LOW + SOLO)),
        (Side.RIGHT, (HIGH + SOLO, HIGH + SOLO)),
        (Side.CENTRE, (SOLO + LOW / 2 + HIGH / 2,) * 2),
        (Side.SIDES, (LOW / 2 - HIGH / 2,) * 2),
    ],
)
def test_a_solo_in_the_middle_is_kept_or_taken_out(tmp_path, side, ears):
    sound = heard(tmp_path, Mix(side), LOW + SOLO, HIGH + SOLO)
    assert np.allclose(sound, np.stack(ears, axis=1), atol=1e-6)


@pytest.mark.parametrize(("balance", "left", "right"), [(-1, 1, 0), (-0.5, 1, 0.5), (0.25, 0.75, 1), (1, 0, 1)])
def test_balance_makes_the_other_side_softer(tmp_path, balance, left, right):
    sound = heard(tmp_path, Mix(balance=balance), SOLO, SOLO)
    assert np.allclose(sound, np.stack([SOLO * left, SOLO * right], axis=1), atol=1e-6)


def test_a_register_stands_out_and_comes_at_its_time(tmp_path):
    sound = heard(tmp_path, Mix(low_hz=300, high_hz=2000, forward_db=12), LOW + SOLO + HIGH, SOLO)
    assert level(sound[:, 0], 700) == pytest.approx(0.25, rel=0.02)
    for hz in (100, 5000):
        assert 20 * np.log10(level(sound[:, 0], hz) / 0.25) == pytest.approx(-12, abs=0.5)
    assert np.abs(sound[2000:-2000, 1] - SOLO[2000:-2000]).max() < 0.005


@pytest.mark.parametrize("frames", [1, 300, 1023])
def test_less_than_the_filter_is_as_long_as_it_was(frames):
    blocks = iter([np.ones((frames, 2), np.float32)])
    assert sum(map(len, Mix(low_hz=300, high_hz=900, forward_db=6).of(blocks, RATE))) == frames
