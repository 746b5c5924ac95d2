"""What the ear sees of a sound: two spectra on a scale of semitones, seen from eleven harmonics.

A long window tells pitches apart, a short one tells when they begin. Each is laid on a scale of 36 bins an octave,
so that a harmonic lies at the same distance above every pitch; a channel of the picture is that scale moved down
by one harmonic, and at a pitch's own bin all channels show that pitch's harmonics.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE_HZ = 22_050  #: Hz; tuned here: harmonics of the highest pitch up to the fifth
HOP = 256  #: samples, 11.6 ms; tuned here: three frames within the shortest sixteenth at 240 bpm
LOW = 40  #: MIDI pitch; tuned here: the lowest that is told, E2, a guitar's lowest string
HIGH = 96  #: MIDI pitch; tuned here: the highest that is told, C7, above fret 19 of a mandolin's first course
PITCHES = HIGH - LOW + 1  #: pitches; definition

BINS_A_SEMITONE = 3  #: bins; tuned here: vibrato and tuning within a third of a semitone
GRID_LOW = 28  #: MIDI pitch; derived: the lowest bin, an octave below LOW
GRID_BINS = 300  #: bins; derived: over eight octaves, the top ones lie above the sampled band and are empty
#: harmonics by the samples of a window; tuned here: the half tells a pitch from its octave above
HARMONICS: dict[int, tuple[float, ...]] = {4096: (0.5, 1, 2, 3, 4, 5, 6), 1024: (1, 2, 3, 4)}
CHANNELS = sum(len(seen) for seen in HARMONICS.values())  #: channels; definition
BINS = PITCHES * BINS_A_SEMITONE  #: bins; definition
PIECE = 12  #: bins; measured here: of the scale that are worked out at once
BELOW, ABOVE = 36, 108  #: bins; derived: room for half a harmonic below and six above
LOUDNESS = 10.0  #: ratio; tuned here: what is 20 dB under the mean power counts half of it


@cache
def bank(window: int) -> NDArray[np.float32]:
    """Triangles that lay a spectrum on the scale; (window / 2 + 1, GRID_BINS), each bin sums to one."""
    hz = np.fft.rfftfreq(window, 1 / RATE_HZ)
    centre = 440 * 2 ** ((GRID_LOW + np.arange(GRID_BINS) / BINS_A_SEMITONE - 69) / 12)
    width = np.maximum(centre * (2 ** (1 / (12 * BINS_A_SEMITONE)) - 1), RATE_HZ / window)
    weight = np.maximum(0, 1 - np.abs(hz[:, None] - centre) / width)
    weight /= weight.sum(0) + 1e-9
    weight[:, centre > RATE_HZ / 2] = 0
    return weight.astype(np.float32)


@cache
def _pieces(window: int) -> tuple[tuple[slice, slice, NDArray[np.float32]], ...]:
    """The bank in pieces of neighbouring bins: which of the spectrum, which of the scale, weights.

    Nearly all of the bank is zero: a bin sees its own neighbourhood alone.
    """
    whole, pieces = bank(window), []
    for first in range(0, GRID_BINS, PIECE):
        seen = np.flatnonzero(whole[:, first : first + PIECE].any(axis=1))
        low, high = (int(seen[0]), int(seen[-1]) + 1) if len(seen) else (0, 1)
        weights = np.ascontiguousarray(whole[low:high, first : first + PIECE])
        pieces.append((slice(low, high), slice(first, first + PIECE), weights))
    return tuple(pieces)


def first_bin(harmonic: float) -> int:
    """Where on the padded scale the channel of a harmonic begins."""
    return BELOW + (LOW - GRID_LOW) * BINS_A_SEMITONE + round(12 * BINS_A_SEMITONE * math.log2(harmonic)) - 1


def frames_of(samples: int) -> int:
    """How many frames a sound of so many samples has; frame n lies at sample n * HOP."""
    return 1 + samples // HOP


def picture(sound: Samples) -> NDArray[np.float32]:
    """The eleven channels of a mono sound at RATE_HZ; (CHANNELS, frames, BINS), whatever its level."""
    channels = []
    for window, harmonics in HARMONICS.items():
        scale = scale_of(sound, window)
        power = math.sqrt(float(np.mean(np.square(scale)))) + 1e-6
        scale = np.pad(np.log1p(LOUDNESS * scale / power), ((0, 0), (BELOW, ABOVE)))
        channels += [scale[:, first_bin(harmonic) :][:, :BINS] for harmonic in harmonics]
    return np.stack(channels)


def scale_of(sound: Samples, window: int, block: int = 256) -> NDArray[np.float32]:
    """Magnitudes on the scale, (frames, GRID_BINS)."""
    shape = np.hanning(window + 1)[:-1].astype(np.float32) / math.sqrt(window)
    padded = np.pad(sound, (window // 2, window // 2 + HOP))
    frames = np.lib.stride_tricks.sliding_window_view(padded, window)[::HOP][: frames_of(len(sound))]
    rows = np.empty((len(frames), GRID_BINS), np.float32)
    for at in range(0, len(frames), block):
        levels = np.abs(np.fft.rfft(frames[at : at + block] * shape)).astype(np.float32)
        for seen, told, weights in _pieces(window):
            rows[at : at + block, told] = levels[:, seen] @ weights
    return rows
