"""The beats of a recording: how strongly each moment begins something, and the steady way through the strongest.

The way is found by dynamic programming (Ellis 2007, Beat tracking by dynamic programming, Journal of New Music
Research 36(1)): each beat is worth the strength of its moment, less what its distance from the last one is off the
tempo, in squared octaves. The tempo is the strongest distance at which the strengths are like themselves, weighed
by how usual it is; a tempo that the player gives settles it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tabterm.recording.spectra import HOP, RATE_HZ, scale_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tabterm.recording.spectra import Samples
    from tabterm.score.metre import Metre

    Strengths = NDArray[np.float64]

FRAMES_A_SECOND = RATE_HZ / HOP  #: 1/s; definition
WINDOW = 1024  #: samples, 46 ms; tuned here: short enough to tell when something begins
USUAL_BPM = 120.0  #: bpm; Ellis 2007: the middle of usual tempos
OCTAVES = 0.9  #: octaves; Ellis 2007: standard deviation of usual tempos around it
FASTEST_BPM, SLOWEST_BPM = 240.0, 50.0  #: bpm; tuned here
STEADY = 48.0  #: standard deviations a squared octave; Ellis 2007: a hundred a squared natural logarithm
GIVEN_OCTAVES = 0.12  #: octaves; tuned here: how far off a tempo that is given may be
BASS_BINS = 60  #: bins, from 41 to 131 Hz; tuned here: where a bass and a kick drum tell the first beat
SMOOTH = (0.25, 0.5, 0.25)  #: share of three frames; tuned here: an attack that lies between two is one
ANCHOR = 20.0  #: standard deviations; tuned here: how strongly a downbeat that is given draws the beats to itself


@dataclass(frozen=True, slots=True)
class Beats:
    """The beats of a recording, and which of them begin measures.

    Attributes:
        moments_s: Seconds of each beat, at least two, rising.
        first: Index of a beat that begins a measure.
        metre: What the measures are in.
    """

    moments_s: tuple[float, ...]
    first: int
    metre: Metre

    @property
    def bpm(self) -> float:
        """Beats a minute on the whole, by the median of their distances."""
        return 60.0 / float(np.median(np.diff(self.moments_s)))

    def quarters_at(self, moment_s: float) -> float:
        """Quarters from the measure that begins at beat `first` to a moment; beyond the ends the tempo stays."""
        moments, last = self.moments_s, len(self.moments_s) - 1
        before = min(max(int(np.searchsorted(moments, moment_s, side="right")) - 1, 0), last - 1)
        part = (moment_s - moments[before]) / (moments[before + 1] - moments[before])
        here, then = (self._quarters(index - self.first) for index in (before, before + 1))
        return here + part * (then - here)

    def moment_of(self, beat: float) -> float:
        """Seconds of a beat by its index, or of a part of one; beyond the ends the tempo stays."""
        before = min(max(int(beat // 1), 0), len(self.moments_s) - 2)
        here, then = self.moments_s[before : before + 2]
        return here + (beat - before) * (then - here)

    def _quarters(self, beat: int) -> float:
        measure, inside = divmod(beat, len(self.metre.beats))
        return float(measure * self.metre.length + self.metre.beats[inside])


def strengths(sound: Samples) -> tuple[Strengths, Strengths]:
    """How strongly something begins in each frame, over all the scale, and in its bass alone."""
    scale = scale_of(sound, WINDOW)
    loud = np.log1p(100 * scale / (np.sqrt(np.mean(np.square(scale))) + 1e-9))
    rise = np.maximum(np.diff(loud, axis=0, prepend=loud[:1]), 0)
    return _smooth(rise.sum(axis=1)), _smooth(rise[:, :BASS_BINS].sum(axis=1))


def _smooth(strength: Strengths) -> Strengths:
    """Without what is usual around it, over three frames, in standard deviations."""
    around = round(FRAMES_A_SECOND)
    usual = np.convolve(np.pad(strength, around, mode="edge"), np.ones(2 * around + 1) / (2 * around + 1), "valid")
    raised: Strengths = np.convolve(np.maximum(strength - usual, 0), SMOOTH, "same")
    return np.asarray(raised / (raised.std() + 1e-9))


def tracked(sound: Samples, metre: Metre, *, bpm: float | None = None, downbeat_s: float | None = None) -> Beats:
    """The beats of a mono sound at `spectra.RATE_HZ`.

    Args:
        sound: At least a second of it.
        metre: What its measures are in.
        bpm: Beats a minute, where they are known; else the likeliest.
        downbeat_s: A moment at which a measure begins; else where the bass is strongest.
    """
    whole, bass = strengths(sound)
    period = _period(whole, bpm)
    if downbeat_s is not None:
        whole[min(max(round(downbeat_s * RATE_HZ / HOP), 0), len(whole) - 1)] += ANCHOR
    frames = _way(whole, period)
    if len(frames) < 2:
        frames = np.array([frames[-1], frames[-1] + round(period)])
    moments = tuple((frame + _between(whole, frame)) * HOP / RATE_HZ for frame in frames)
    if downbeat_s is None:
        frames, count = frames[frames < len(whole)], min(len(metre.beats), len(frames))
        first = int(np.argmax([bass[frames[start :: len(metre.beats)]].sum() for start in range(count)]))
    else:
        first = int(np.argmin([abs(moment - downbeat_s) for moment in moments]))
    return Beats(moments, first, metre)


def _period(strength: Strengths, bpm: float | None) -> float:
    """Frames of a beat."""
    fastest, slowest = (round(60 * FRAMES_A_SECOND / each) for each in (FASTEST_BPM, SLOWEST_BPM))
    size = 1 << (2 * len(strength) - 1).bit_length()
    alike = np.fft.irfft(np.abs(np.fft.rfft(strength - strength.mean(), size)) ** 2)[: 2 * slowest + 2]
    lags = np.arange(fastest, min(slowest, len(alike) - 1) + 1)
    middle, octaves = (USUAL_BPM, OCTAVES) if bpm is None else (bpm, GIVEN_OCTAVES)
    usual = np.exp(-0.5 * (np.log2(60 * FRAMES_A_SECOND / lags / middle) / octaves) ** 2)
    if not len(lags) or alike[0] <= 0:
        return 60 * FRAMES_A_SECOND / middle
    double = alike[np.minimum(2 * lags, len(alike) - 1)]
    return float(lags[np.argmax((alike[lags] + double / 2).clip(0) * usual)])


def _way(strength: Strengths, period: float) -> NDArray[np.int64]:
    """The frames of the steadiest way through the strongest moments."""
    reach = np.arange(-round(2 * period), -round(period / 2))
    cost = STEADY * np.log2(-reach / period) ** 2
    worth, before = np.array(strength), np.full(len(strength), -1)
    for frame in range(len(strength)):
        earlier = frame + reach
        inside = earlier >= 0
        if inside.any():
            options = worth[earlier[inside]] - cost[inside]
            best = int(options.argmax())
            if options[best] > 0:
                worth[frame] += options[best]
                before[frame] = earlier[inside][best]
    end = len(strength) - 1 - int(np.argmax(worth[::-1][: round(2 * period)]))
    found = [end]
    while before[found[-1]] >= 0:
        found.append(int(before[found[-1]]))
    return np.array(found[::-1])


def _between(strength: Strengths, frame: int) -> float:
    """How far from its frame the peak lies; -0.5 to 0.5 frames."""
    if not 0 < frame < len(strength) - 1:
        return 0.0
    before, here, after = (float(value) for value in strength[frame - 1 : frame + 2])
    bend = before - 2 * here + after
    return float(np.clip((before - after) / (2 * bend), -0.5, 0.5)) if bend < 0 else 0.0
