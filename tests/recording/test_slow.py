"""A recording slower, faster, higher: its length, its pitch, its attacks, its image."""

from __future__ import annotations

import math
import shutil
import tracemalloc

import numpy as np
import pytest
import soundfile

from tabterm.recording import slow
from tabterm.recording.audio import Recording
from tabterm.recording.slow import onsets, slowed
from tests.recording import oracle

RATE = oracle.RATE_HZ
STK = pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")
PITCHES = range(55, 82, 5)


def kept(path, sound, rate=RATE):
    soundfile.write(path, sound, rate, subtype="FLOAT")
    return Recording.opened(path)


def heard(recording, speed, **how):
    return np.concatenate(list(slowed(recording, 0, recording.length_s, speed, **how)))


@pytest.fixture(scope="module")
def plucked(tmp_path_factory):
    """Notes a second apart by a physical model of a mandolin (STK)."""
    notes = [oracle.Note(0.5 + at, pitch, 0.8) for at, pitch in enumerate(PITCHES)]
    sound = oracle.rendered("stk", notes, len(notes) + 1.0)
    return notes, kept(tmp_path_factory.mktemp("slow") / "a.wav", 0.8 * sound / np.abs(sound).max())


def cents(sound, start_s, pitch, length_s):
    """How far the partials 1 to 4 lie from a pitch, weighed by their power."""
    hz = 440 * 2 ** ((pitch - 69) / 12)
    part, size = sound[round(start_s * RATE) : round((start_s + length_s) * RATE)], 1 << 19
    level, scale = np.abs(np.fft.rfft(part * np.hanning(len(part)), size)), np.fft.rfftfreq(size, 1 / RATE)
    total = weight = 0.0
    for k in range(1, 5):
        near = np.flatnonzero(np.abs(12 * np.log2(scale[1:] / (k * hz))) < 0.8) + 1
        peak = near[level[near].argmax()]
        total += level[peak] ** 2 * 1200 * math.log2(scale[peak] / (k * hz))
        weight += level[peak] ** 2
    return total / weight


def attack_ms(sound, start_s):
    """From a fifth of a note's peak to four fifths of it."""
    part, step = np.abs(sound[round((start_s - 0.01) * RATE) : round((start_s + 0.15) * RATE)]), RATE // 4000
    envelope = np.array([part[at : at + 4 * step].max() for at in range(0, len(part) - 4 * step, step)])
    envelope = envelope / envelope.max()
    high = np.flatnonzero(envelope >= 0.8)[0]
    low = np.flatnonzero(envelope[: high + 1] < 0.2)
    return (high - (low[-1] if len(low) else 0)) * step / RATE * 1000


@STK
@pytest.mark.parametrize("speed", [0.25, 0.5, 0.7, 1.5])
def test_notes_keep_pitch_and_attack_at_any_speed(plucked, speed):
    """Under one cent; the attack as long as it was, and at most 8 ms."""
    notes, recording = plucked
    before, after = recording_of(recording), heard(recording, speed)[:, 0]
    assert len(after) == pytest.approx(recording.frames / speed, abs=2)
    for note in notes:
        start = note.start_s / speed
        usual = cents(before, note.start_s + 0.08, note.pitch, 0.5)
        assert cents(after, start + 0.08, note.pitch, 0.5 / speed) == pytest.approx(usual, abs=1)
        assert attack_ms(after, start) <= max(8, attack_ms(before, note.start_s) + 1)


def recording_of(recording):
    return np.concatenate(list(recording.stereo(0, recording.length_s)))[:, 0]


@STK
def test_every_attack_is_found(plucked):
    notes, recording = plucked
    found = [at / RATE for at in onsets(recording, 0, recording.length_s)]
    assert found == [pytest.approx(note.start_s, abs=0.02) for note in notes]


@STK
@pytest.mark.parametrize("semitones", [-12, -0.35, 5])
def test_higher_and_lower_at_the_same_speed(plucked, semitones):
    notes, recording = plucked
    sound = heard(recording, 1.0, semitones=semitones)[:, 0]
    assert len(sound) == pytest.approx(recording.frames, abs=50)
    note = notes[3]
    assert cents(sound, note.start_s + 0.08, note.pitch + semitones, 0.5) == pytest.approx(0, abs=4)


@STK
def test_its_own_speed_is_the_recording_itself(plucked):
    _, recording = plucked
    assert np.abs(heard(recording, 1.0)[: recording.frames, 0] - recording_of(recording)).max() < 1e-3


def test_left_and_right_stay_apart(tmp_path):
    t = np.arange(2 * RATE) / RATE
    both = (
        np.stack([np.sin(2 * np.pi * 330 * t), 0.2 * np.sin(2 * np.pi * 330 * t)], axis=1).astype(np.float32) / 2
    )
    sound = heard(kept(tmp_path / "a.wav", both), 0.5)[RATE:-RATE]
    assert np.abs(sound[:, 1]).max() / np.abs(sound[:, 0]).max() == pytest.approx(0.2, abs=0.005)


def test_nothing_is_over_full_scale(tmp_path):
    noise = np.random.default_rng(1).normal(size=(RATE, 2)).astype(np.float32)
    assert np.abs(heard(kept(tmp_path / "a.wav", noise), 0.6)).max() <= 1


@pytest.mark.parametrize("frames", [1, 700, 5000])
def test_next_to_nothing_comes_out_as_long_as_asked(tmp_path, frames):
    recording = kept(tmp_path / "a.wav", np.ones((frames, 1), np.float32) / 2, 8000)
    assert len(heard(recording, 0.5)) == pytest.approx(2 * frames, abs=1)


def test_the_attacks_of_a_long_recording_are_found_in_little_memory():
    """Ten minutes of a flux that never rests; the windows of it all at once would take 20 MB."""
    rise = np.random.default_rng(1).random(60_000)
    tracemalloc.start()
    try:
        found = slow._peaks(rise, 8)
        assert tracemalloc.get_traced_memory()[1] < 10_000_000
    finally:
        tracemalloc.stop()
    begins = slow._peaks(rise[:1000], 8)
    assert found[: len(begins) - 2] == begins[:-2]
