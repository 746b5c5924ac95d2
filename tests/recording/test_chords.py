"""The chords of a band and the tuning of a recording, on engines of their own."""

from __future__ import annotations

import shutil
from collections import Counter

import numpy as np
import pytest
import soxr

from tabterm.recording import chords, spectra, tuning
from tabterm.score.key import Key
from tests.recording import chords_trial, oracle
from tests.recording.ear import trial
from tests.recording.ear.bank import halved

STK = pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")
BANDS = pytest.mark.skipif(
    not all(map(shutil.which, ("fluidsynth", "csound"))) or not chords_trial.OTHER_BANK.exists(),
    reason="no band here (Debian: fluidsynth timgm6mb-soundfont csound)",
)


def sounding(*pitches, length_s=0.5):
    """Bare decaying strings."""
    t = np.arange(round(length_s * spectra.RATE_HZ)) / spectra.RATE_HZ
    hz = [440 * 2 ** ((pitch - 69) / 12) for pitch in pitches]
    tones = sum(0.6**k * np.sin(2 * np.pi * (k + 1) * each * t) for each in hz for k in range(6))
    return (tones * np.exp(-2 * t)).astype(np.float32)


@BANDS
def test_the_chords_behind_a_solo_are_told():
    """0.97 of the beats with the right root and third in the whole trial, 0.91 with the seventh."""
    counts = Counter()
    for index in (0, 3):
        made = chords_trial.clip(np.random.default_rng([7, index]), chords_trial.SETS["measured"], index)
        cents = tuning.cents_off(made.sound)
        for told, true in zip(chords.chords_of(made.sound, made.moments_s, cents=cents), made.truth, strict=True):
            counts.update(chords_trial.judged(told.symbol, true))
    assert counts["triad"] >= 0.85 * counts["beats"]
    assert counts["seventh"] >= 0.75 * counts["beats"]


def test_plain_chords_are_named_as_their_key_writes_them():
    """The tones of E flat, C minor, A flat and B flat seven (Harte and others 2005), over their roots."""
    bars = [(39, 63, 67, 70), (36, 63, 67, 72), (44, 63, 68, 72), (46, 65, 68, 74)]
    sound = np.concatenate([sounding(*bar) for bar in bars for _ in range(4)])
    moments = [0.5 * beat for beat in range(17)]
    told = chords.chords_of(sound, moments, key=Key.parse("Eb"))
    assert [each.symbol for each in told][::4] == ["Eb", "Cm", "Ab", "Bb7"]
    assert min(each.sure for each in told) > 0.5
    assert chords.chords_of(sound, moments, key=Key.parse("B"))[0].symbol == "D#"


def test_silence_has_no_chord():
    sound = np.concatenate([sounding(48, 64, 67, length_s=2), np.zeros(44_100, np.float32)])
    told = chords.chords_of(sound, [0, 0.5, 1, 1.5, 2, 3, 4])
    assert [each.symbol for each in told] == ["C"] * 4 + ["C", ""]


@pytest.mark.parametrize("cents", [-43, -20, 0, 17, 49])
def test_how_a_sound_is_tuned_is_known_to_a_cent(cents):
    sound = np.concatenate([sounding(pitch + cents / 100) for pitch in (62, 66, 69, 74, 55, 59)])
    assert tuning.cents_off(sound) == pytest.approx(cents, abs=1)
    assert tuning.a4_hz(100) == pytest.approx(466.16, abs=0.01)  # A sharp 4 in equal temperament (ISO 16:1975)


@STK
@BANDS
@pytest.mark.parametrize("cents", [-38, 21])
def test_the_tuning_of_a_band_is_known_to_three_cents(cents):
    draw = np.random.default_rng(4)
    notes, beat, root = trial.solo(draw, doubles=False)
    lead = oracle.rendered("stk", notes, trial.CLIP_S)
    band = oracle.band(trial.behind(draw, beat, root), trial.BAND_PROGRAMS, trial.CLIP_S)
    sound = halved(lead / trial.level(lead) + band / trial.level(band))
    played = soxr.resample(sound, spectra.RATE_HZ, spectra.RATE_HZ * 2 ** (-cents / 1200)).astype(np.float32)
    assert tuning.cents_off(played) == pytest.approx(cents, abs=3)


def test_silence_is_tuned_to_nothing():
    assert tuning.cents_off(np.zeros(22_050, np.float32)) is None
    assert tuning.cents_off(np.zeros(5, np.float32)) is None
