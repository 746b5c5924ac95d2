"""MIDI files as another program's synthesiser plays them: fluidsynth, an independent reader and renderer.

A note of a General MIDI bank is heard some milliseconds after it is asked for, by the bank's own rise and the
detector's window. That is measured as the median; what counts is that no attack strays from it.
"""

from __future__ import annotations

import shutil
import subprocess
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tabterm.formats import smf
from tabterm.performance import Options, perform
from tabterm.score.model import Swing
from tabterm.score.tempo import Tempo
from tests.build import measure, score

BANKS = ("TimGM6mb.sf2", "FluidR3_GM.sf2", "default-GM.sf2")
FOLDERS = ("/usr/share/sounds/sf2", "/usr/share/soundfonts")

RATE = 44_100
WINDOW, HOP = 512, 64
LATE_S = 0.015
"""Of the median: rise of the bank and half a window."""

STRAYS_S = 0.006
NEAR_S = 0.04


@pytest.fixture(scope="module")
def render(tmp_path_factory):
    """Renders a MIDI file as fluidsynth plays it: one channel of samples."""
    banks = [Path(folder) / bank for bank in BANKS for folder in FOLDERS if (Path(folder) / bank).exists()]
    if shutil.which("fluidsynth") is None or not banks:
        pytest.skip("no fluidsynth with a bank here (Debian: apt-get install fluidsynth timgm6mb-soundfont)")
    folder = tmp_path_factory.mktemp("fluidsynth")

    def run(data):
        (folder / "in.mid").write_bytes(data)
        # No reverberation, no chorus: fluidsynth(1).
        words = f"fluidsynth -ni -q -R 0 -C 0 -g 0.5 -r {RATE} -O s16 -T wav -F out.wav {banks[0]} in.mid"
        subprocess.run(words.split(), cwd=folder, check=True, capture_output=True, timeout=60)
        samples, rate = soundfile.read(folder / "out.wav")
        assert rate == RATE
        return samples[:, 0]

    return run


def onsets(samples):
    """Times of attacks in s: peaks of the spectral flux (Bello et al. 2005, IEEE TSAP 13(5); from memory)."""
    silence = np.zeros(RATE // 10)
    frames = np.lib.stride_tricks.sliding_window_view(np.concatenate((silence, samples)), WINDOW)[
        ::HOP
    ] * np.hanning(WINDOW)
    loudness = np.log1p(100 * np.abs(np.fft.rfft(frames)))
    flux = np.maximum(np.diff(loudness, axis=0), 0).sum(axis=1)
    peaks = [n for n in range(1, len(flux) - 1) if flux[n - 1] < flux[n] >= flux[n + 1]]
    loud = sorted(peaks, key=lambda n: -flux[n])
    return [((n + 1) * HOP + WINDOW / 2 - len(silence)) / RATE for n in loud if flux[n] > 0.15 * flux[loud[0]]]


def strays(samples, asked):
    """(median, largest distance from it) of what is heard against what was asked for, in s."""
    heard = onsets(samples)
    late = [min((at - time_s for at in heard), key=abs) for time_s in asked]
    middle = float(np.median(late))
    return middle, max(abs(each - middle) for each in late)


SCALE = ["4 4.0,8 4.2,8 4.4,4 3.0,8 3.2,8 3.4", "8 2.0,8 2.2,8 2.4,8 1.0,8 1.2,8 1.3,4 1.5"]
SCORES = {
    "plain": (score(*SCALE, tempo=Tempo(100.0)), Options()),
    "swung, slower": (score(*SCALE, tempo=Tempo(100.0), swing=Swing(unit=8, long=2, short=1)), Options(80)),
    "with a new tempo and a repeat": (
        score(measure(SCALE[0], repeat_times=2), measure(SCALE[1], tempo=Tempo(70.0)), tempo=Tempo(120.0)),
        Options(),
    ),
    "double stops": (score("4 2.0 3.0,4 1.0 2.2,4 3.2 4.0,4 1.3 2.0", tempo=Tempo(90.0)), Options()),
}


@pytest.mark.parametrize("name", SCORES)
def test_onsets_are_heard_where_they_are_asked_for(render, name):
    built, options = SCORES[name]
    performance = perform(built, options=options)
    struck = [pluck.start_s for pluck in performance.plucks]
    asked = [at for before, at in pairwise([-1.0, *struck]) if at - before > NEAR_S]
    middle, farthest = strays(render(smf.write(built, options=options).data), asked)
    assert abs(middle) < LATE_S
    assert farthest < STRAYS_S
    assert len(asked) >= 4


def test_the_check_can_fail(render):
    """A note two hundredths of a second away from where it is asked for is noticed."""
    built, options = SCORES["plain"]
    asked = [pluck.start_s for pluck in perform(built).plucks]
    asked[5] += 0.02
    assert strays(render(smf.write(built, options=options).data), asked)[1] > STRAYS_S


def test_a_count_in_and_a_click_are_heard(render):
    """The whole is as long as it should be, with every click where the metre has it: quarters from the start."""
    built = score("1 1.0", tempo=Tempo(120.0))
    heard = onsets(render(smf.write(built, options=Options(count_in=1)).data))
    for beat in range(4):
        assert min(abs(at - float(Fraction(beat, 2))) for at in heard) < LATE_S
