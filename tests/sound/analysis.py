"""Hearing for tests: onsets by spectral flux and pitches by Fourier transform, nothing of the program's."""

from __future__ import annotations

import numpy as np

RATE = 44_100


def mono(samples):
    """The middle of a stereo signal."""
    return samples.astype(float).mean(axis=1)


def hertz_of(pitch):
    """Equal temperament, A4 = 440 Hz."""
    return 440.0 * 2.0 ** ((pitch - 69) / 12.0)


def cents(hertz, other):
    """How far a frequency lies above another."""
    return 1200.0 * np.log2(hertz / other)


def spectrum(samples, size=1 << 16):
    """Magnitudes of a windowed and padded transform, and their frequencies."""
    size = max(size, 1 << int(np.ceil(np.log2(len(samples) * 4))))
    return np.abs(np.fft.rfft(samples * np.hanning(len(samples)), size)), np.fft.rfftfreq(size, 1 / RATE)


def peak_hz(samples, low_hz, high_hz):
    """The strongest frequency of a range, between the bins by a parabola through the logarithms."""
    magnitudes, hertz = spectrum(samples)
    inside = np.flatnonzero((hertz > low_hz) & (hertz < high_hz))
    top = inside[magnitudes[inside].argmax()]
    a, b, c = np.log(magnitudes[top - 1 : top + 2])
    return hertz[top] + 0.5 * (a - c) / (a - 2 * b + c) * (hertz[1] - hertz[0])


def fundamental_hz(samples, pitch):
    """The peak within a semitone of a pitch."""
    return peak_hz(samples, hertz_of(pitch - 1), hertz_of(pitch + 1))


def salient_pitch(samples, pitches):
    """The pitch whose first ten partials are strongest together, each worth less than the one before."""
    magnitudes, hertz = spectrum(samples)
    weights = np.sqrt(magnitudes)

    def strength(pitch):
        partials = hertz_of(pitch) * np.arange(1, 11)
        edges = np.searchsorted(hertz, [partials * 0.985, partials * 1.015])
        return sum(weights[low:high].max() * 0.84**k for k, (low, high) in enumerate(edges.T))

    return max(pitches, key=strength)


def pitch_track(samples, hertz):
    """Instantaneous frequency of what lies around a frequency, sample by sample, by its analytic signal."""
    pad = RATE // 4
    padded = np.pad(samples, pad)
    off = np.abs(np.fft.fftfreq(len(padded), 1 / RATE) / hertz - 1.0)
    band = np.cos(np.clip((off - 0.25) / 0.2, 0.0, 1.0) * np.pi / 2) ** 2
    turning = np.fft.ifft(np.fft.fft(padded) * band)[pad:-pad]
    return np.abs(np.diff(np.unwrap(np.angle(turning)))) * RATE / (2 * np.pi)


def level_of(samples, hertz, at_s, length_s=0.06):
    """Amplitude of a sine at a moment, by correlation under a window."""
    first, count = round(at_s * RATE), round(length_s * RATE)
    window = np.hanning(count)
    part = samples[first : first + count] * window
    return 2 * abs((part * np.exp(-2j * np.pi * hertz * np.arange(count) / RATE)).sum()) / window.sum()


def onsets_s(samples, window=512, hop=64, gap_s=0.05):
    """Times of attacks: peaks of the flux, each moved to where the high frequencies rise most."""
    frames = 1 + (len(samples) - window) // hop
    cut = np.lib.stride_tricks.sliding_window_view(samples, window)[::hop][:frames]
    levels = np.log1p(2000.0 * np.abs(np.fft.rfft(cut * np.hanning(window))) / window)
    flux = np.maximum(levels[4:] - levels[:-4], 0.0).sum(axis=1)
    times = (np.arange(len(flux)) + 4) * hop / RATE
    found = []
    for index in range(1, len(flux) - 1):
        around = flux[max(index - 30, 0) : index + 31]
        surprising = flux[index] > 0.12 * np.percentile(flux, 99.5) and flux[index] > 1.6 * np.median(around)
        if flux[index] == around.max() and surprising and (not found or times[index] - found[-1] > gap_s):
            found.append(times[index])
    return np.array([_rise_s(samples, time_s) for time_s in found])


def _rise_s(samples, near_s, around_s=0.012, span_s=0.003):
    """The moment near another before which there is least, and after which most, of the high frequencies."""
    span, first = round(span_s * RATE), max(round((near_s - around_s) * RATE), 0)
    part = np.diff(samples[max(first - 2 * span, 0) : first + round(2 * around_s * RATE) + 2 * span], 2) ** 2
    sums = np.concatenate(([0.0], np.cumsum(part)))
    after, before = sums[2 * span :] - sums[span:-span], sums[span:-span] - sums[: -2 * span]
    best = int(np.argmax((after - before) / np.sqrt(before + 1e-3 * after.max() + 1e-12)))
    return (max(first - 2 * span, 0) + span + best + 1) / RATE
