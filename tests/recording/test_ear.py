"""The ear on engines that it was not trained on, and its parts by themselves."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import numpy as np
import pytest
import soxr

from tabterm.recording import ear, net, spectra, tuning
from tests.recording import oracle
from tests.recording.ear import trial
from tests.recording.ear.bank import halved

RATE = spectra.RATE_HZ
ANY_BANK = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")


STK = pytest.mark.skipif(not shutil.which("stk-demo"), reason="no stk-demo here (Debian: stk)")
FLUIDSYNTH = pytest.mark.skipif(not shutil.which("fluidsynth"), reason="no fluidsynth here (Debian: fluidsynth)")


def string(pitch, length_s=1.0):
    """A bare decaying string: six partials, each half as strong as the one below."""
    t = np.arange(round(length_s * RATE)) / RATE
    hz = 440 * 2 ** ((pitch - 69) / 12)
    return sum(0.5**k * np.sin(2 * np.pi * k * hz * t) for k in range(1, 7)).astype(np.float32) * np.exp(-3 * t)


@pytest.mark.parametrize("pitch", [spectra.LOW, 57, 69, 88, spectra.HIGH])
def test_a_pitch_is_brightest_in_the_middle_of_its_three_bins(pitch):
    """440 Hz is A4, MIDI pitch 69 (ISO 16:1975); a sine shows in the channel of the first harmonic."""
    hz = 440 * 2 ** ((pitch - 69) / 12)
    sine = np.sin(2 * np.pi * hz * np.arange(RATE) / RATE).astype(np.float32)
    first = spectra.picture(sine)[spectra.HARMONICS[4096].index(1)]
    away = first[40].argmax() - (pitch - spectra.LOW) * spectra.BINS_A_SEMITONE - 1
    assert abs(away) <= (
        1 if pitch < 50 else 0
    )  # below, a bin of the long window is wider than a third of a semitone


def test_every_channel_shows_a_harmonic_at_the_pitch_itself():
    maps = spectra.picture(string(64))
    middle = (64 - spectra.LOW) * spectra.BINS_A_SEMITONE + 1
    seen = [harmonic for harmonics in spectra.HARMONICS.values() for harmonic in harmonics]
    for channel, harmonic in zip(maps, seen, strict=True):
        if harmonic >= 1:
            assert channel[10, middle - 2 : middle + 3].max() > 1.4 * channel[10, middle + 5]


def test_the_level_of_a_recording_does_not_matter():
    sound = string(64)
    assert np.allclose(spectra.picture(sound), spectra.picture(sound * 0.01), atol=0.02)


@pytest.mark.parametrize("layer", [*net.LAYERS, net.HEAD], ids=lambda layer: layer.name)
def test_a_layer_is_the_sum_over_its_taps(layer):
    """Against the definition, term by term."""
    draw = np.random.default_rng(1)
    maps = draw.normal(size=(2, 9, 12)).astype(np.float32)
    weight = draw.normal(size=(3, 2, len(layer.taps))).astype(np.float32)
    offset = draw.normal(size=3).astype(np.float32)
    stride = 3 if layer.folds else 1
    want = np.zeros((3, 9, 12 // stride), np.float32) + offset[:, None, None]
    for frame, place in itertools.product(range(9), range(12 // stride)):
        for tap, (later, higher) in enumerate(layer.taps):
            at, bin_ = frame + later, place * stride + higher + (1 if layer.folds else 0)
            if 0 <= at < 9 and 0 <= bin_ < 12:
                want[:, frame, place] += weight[:, :, tap] @ maps[:, at, bin_]
    laid, border = weight.transpose(0, 2, 1).reshape(3, -1), layer.border
    around = np.pad(maps, ((0, 0), (border, border), (0, 0)))
    assert np.allclose(net.convolved(around, laid, offset, layer), want, atol=1e-4)


@pytest.mark.parametrize("pieces", [(260,), (1, 99, 160), (140, 120), (20,) * 13])
def test_the_net_answers_the_same_in_whatever_pieces_a_picture_comes(pieces):
    whole, along, at = net.trained(), net.trained().along(), 0
    maps = np.abs(np.random.default_rng(2).normal(size=(spectra.CHANNELS, 260, spectra.BINS))).astype(np.float32)
    told = []
    for size in pieces:
        at += size
        told.append(along.answers(maps[:, at - size : at], last=at == 260))
    assert np.allclose(np.concatenate(told, axis=1), whole.answers(maps), atol=1e-5)


@pytest.mark.parametrize("window", [1024, 4096, 8192])
def test_the_scale_is_the_whole_spectrum_times_its_bank(window):
    sound = np.random.default_rng(3).normal(size=9000).astype(np.float32)
    shape = np.hanning(window + 1)[:-1] / np.sqrt(window)
    padded = np.pad(sound, (window // 2, window // 2 + spectra.HOP))
    at = 17 * spectra.HOP
    want = np.abs(np.fft.rfft(padded[at : at + window] * shape)) @ spectra.bank(window)
    assert np.allclose(spectra.scale_of(sound, window)[17], want, atol=1e-4)


def test_what_is_heard_does_not_hang_on_where_windows_meet(monkeypatch):
    sound = np.concatenate([string(pitch, 0.4) for pitch in (62, 64, 66, 67, 69, 71)])
    whole = ear.notes(sound)
    monkeypatch.setattr(ear, "WINDOW_S", 0.7)
    assert [note.pitch for note in ear.notes(sound)] == [note.pitch for note in whole] == [62, 64, 66, 67, 69, 71]


def test_notes_end_when_the_next_begins_on_their_string():
    heard = ear.notes(np.concatenate([string(69, 0.5), string(69, 0.5)]))
    assert [note.pitch for note in heard] == [69, 69]
    assert heard[0].end_s == pytest.approx(heard[1].onset_s, abs=0.03)
    assert 69 not in heard[0].others
    assert len(heard[0].others) == ear.OTHERS


def test_silence_and_next_to_nothing_have_no_notes():
    assert ear.notes(np.zeros(RATE, np.float32)) == []
    assert ear.notes(np.zeros(3, np.float32)) == []


def test_work_that_is_stopped_gives_what_was_heard_until_then(monkeypatch):
    monkeypatch.setattr(ear, "WINDOW_S", 0.5)
    sound, shares = np.concatenate([string(62, 0.6), string(64, 0.6), string(66, 0.6)]), []

    def one_window(share):
        shares.append(share)
        return False

    assert [note.pitch for note in ear.notes(sound, progress=one_window)] == [62]
    assert shares == [pytest.approx(0.27, abs=0.03)]


def test_the_net_that_comes_along_is_small():
    from importlib import resources

    assert len(resources.files("tabterm.recording").joinpath("ear.npz").read_bytes()) <= 400_000


needs_stk = pytest.mark.skipif(
    not shutil.which("stk-demo"), reason="no stk-demo here (Debian: apt-get install stk)"
)


def judged(count, band_db, cents=0.0):
    """The trial's counts on a physical model of a mandolin (STK), over a band of any General MIDI bank."""
    tally, lag = trial.Tally(), oracle.lags("stk", range(62, 75))
    for index in range(count):
        draw = np.random.default_rng([5, index])
        notes, beat, root = trial.solo(draw, doubles=False)
        sound = oracle.rendered("stk", notes, trial.CLIP_S)
        if band_db is not None:
            band = oracle.band(trial.behind(draw, beat, root), trial.BAND_PROGRAMS, trial.CLIP_S)
            sound = sound / trial.level(sound) + 10 ** (band_db / 20) * band / trial.level(band)
        heard = halved(sound).astype(np.float32)
        if cents:
            heard = soxr.resample(heard, RATE, RATE * 2 ** (-cents / 1200))
        answers = ear.answered(heard, net.trained())
        usual, faster = float(np.median(list(lag.values()))), 2 ** (cents / 1200)
        truth = [(note, (note.start_s + (0 if note.slurred else usual)) / faster) for note in notes]
        own = (
            ear.notes(heard, cents=tuning.cents_off(heard)) if cents else list(ear.told(answers, ear.SURE_ENOUGH))
        )
        tally.clip(truth, own, answers)
    return tally


@STK
def test_a_solo_of_another_engine_is_heard():
    """0.99 of the notes in the whole trial."""
    tally = judged(2, None)
    assert 2 * tally.right / (tally.asked + tally.told) >= 0.95
    assert np.median(tally.errors_ms) <= 8
    assert tally.counts["first"] >= 0.96 * tally.counts["known"]


@STK
@pytest.mark.skipif(
    not shutil.which("fluidsynth"), reason="no fluidsynth here (Debian: apt-get install fluidsynth)"
)
def test_a_solo_is_heard_through_a_band(monkeypatch):
    """0.98 in the whole trial."""
    if not oracle.BANK.exists():
        monkeypatch.setattr(oracle, "BANK", ANY_BANK)
    if not oracle.BANK.exists():
        pytest.skip("no bank here (Debian: apt-get install timgm6mb-soundfont)")
    tally = judged(2, -6.0)
    assert 2 * tally.right / (tally.asked + tally.told) >= 0.9
    assert tally.counts["in three"] >= 0.97 * tally.counts["known"]


@STK
@pytest.mark.skipif(not shutil.which("fluidsynth"), reason="no fluidsynth here (Debian: fluidsynth)")
def test_a_band_that_is_tuned_low_is_heard_as_well(monkeypatch):
    """0.08 at A4 = 440 Hz, 0.97 at its own pitch."""
    if not oracle.BANK.exists():
        monkeypatch.setattr(oracle, "BANK", ANY_BANK)
    if not oracle.BANK.exists():
        pytest.skip("no bank here (Debian: timgm6mb-soundfont)")
    tally = judged(1, -6.0, cents=-40.0)
    assert 2 * tally.right / (tally.asked + tally.told) >= 0.9
    assert np.median(tally.errors_ms) <= 8
