"""Against programs that share no code with ours: a physical model of a mandolin, and a player of recorded guitars.

Both are Debian packages: `stk` (The Synthesis ToolKit, model "Mandolin": two waveguide strings and recorded body
responses) and `fluidsynth` with any General MIDI bank.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tabterm import formats
from tabterm.hand.strokes import with_proposals
from tabterm.performance import Options, Part, perform
from tabterm.score.place import Span
from tests.sound.analysis import fundamental_hz, hertz_of, level_of, mono, onsets_s, spectrum
from tests.sound.plucking import RATE, level_db, pluck, sounded

SAMPLES = Path(__file__).parents[2] / "samples"
BANKS = sorted(Path("/usr/share/sounds/sf2").glob("*.sf2"))
needs_stk = pytest.mark.skipif(shutil.which("stk-demo") is None, reason="needs the Debian package stk")
needs_fluidsynth = pytest.mark.skipif(
    shutil.which("fluidsynth") is None or not BANKS, reason="needs the Debian packages fluidsynth and a bank"
)

PLUCKED = {57: 4, 64: 3, 71: 2, 78: 1}
"""Pitches and the courses that they are played on: the second fret of each."""


def modelled(pitch, folder):
    """A second of the toolkit's mandolin, dry; its loop is one sample long, so that a higher note is asked for."""
    asked = 69 + 12 * np.log2(1 / (1 / hertz_of(pitch) - 1 / RATE) / 440)
    lines = (
        "ControlChange 0 1 44 0",
        "ControlChange 0 1 1 1.1",
        f"NoteOn 0.1 1 {asked:.5f} 100",
        "NoteOff 1.2 1 60 64",
    )
    (folder / "one.ski").write_text("".join(f"{line}\n" for line in lines))
    words = ("stk-demo", "Mandolin", "-s", str(RATE), "-n", "1", "-ow", "one.wav", "-if", "one.ski")
    subprocess.run(words, cwd=folder, check=True, capture_output=True)
    samples, _ = soundfile.read(folder / "one.wav")
    samples = samples if samples.ndim == 1 else samples.mean(axis=1)
    return samples[np.flatnonzero(np.abs(samples) > 0.02 * np.abs(samples).max())[0] :][:RATE]


def centroid_hz(samples):
    magnitudes, hertz = spectrum(samples)
    return (magnitudes**2 * hertz).sum() / (magnitudes**2).sum()


def fall_db(samples, hertz):
    """By how much a partial falls from 50 to 450 ms."""
    return 20 * np.log10(level_of(samples, hertz, 0.05) / level_of(samples, hertz, 0.45))


@needs_stk
@pytest.mark.parametrize("pitch", PLUCKED)
def test_a_note_is_shaped_like_that_of_a_model_of_a_mandolin(pitch, tmp_path):
    """Decay of fundamental and octave, early fall, brightness at the attack and after: within a factor of 3."""
    other = modelled(pitch, tmp_path)
    ours = mono(sounded(pluck(pitch, course=PLUCKED[pitch])))
    assert fundamental_hz(other[2000:30000], pitch) == pytest.approx(hertz_of(pitch), rel=0.002)
    attack, after = slice(0, 1800), slice(4400, 13000)
    for figure in (
        lambda samples: fall_db(samples, hertz_of(pitch)),
        lambda samples: fall_db(samples, 2 * hertz_of(pitch)),
        lambda samples: level_db(samples[220:1320]) - level_db(samples[30_000:34_000]),
        lambda samples: centroid_hz(samples[attack]),
        lambda samples: centroid_hz(samples[after]),
    ):
        assert 1 / 3 < figure(ours) / figure(other) < 3
    for samples in (ours, other):
        assert centroid_hz(samples[attack]) > centroid_hz(samples[after])


@needs_fluidsynth
@pytest.mark.parametrize("name", ["quarry-road-breakdown", "ferrymans-jig"])
def test_a_midi_file_is_heard_where_it_is_written_by_another_player(name, tmp_path):
    """At least 19 of 20 attacks found; 9 of 10 within 5 ms, apart from the bank's own slow start of 5 to 12 ms."""
    played = with_proposals(formats.read(SAMPLES / f"{name}.tabterm").score)
    how = {"span": Span.of_measures(0, 9), "options": Options(count_in=1)}
    formats.write(tmp_path / "one.mid", played, **how)
    words = (
        "fluidsynth",
        "-ni",
        "-q",
        "-R",
        "0",
        "-C",
        "0",
        "-g",
        "0.5",
        "-r",
        str(RATE),
        "-O",
        "s16",
        "-T",
        "wav",
    )
    subprocess.run((*words, "-F", "one.wav", BANKS[0], "one.mid"), cwd=tmp_path, check=True, capture_output=True)
    heard = onsets_s(mono(soundfile.read(tmp_path / "one.wav")[0]))
    starts = [each.start_s for each in perform(played, **how).plucks if each.part is Part.SOLO]
    late_s = np.array([heard[np.abs(heard - start_s).argmin()] - start_s for start_s in sorted(set(starts))])
    found = np.abs(late_s) < 0.03
    assert found.mean() >= 0.95
    slow_s = np.median(late_s[found])
    assert 0.0 <= slow_s < 0.015
    assert np.mean(np.abs(late_s[found] - slow_s) < 0.005) >= 0.9
