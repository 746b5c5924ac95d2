"""The beats of a recording: how strongly each moment begins something, and the steady way through the strongest.

The way is found by dynamic programming over beats and their distances, after Ellis 2007 (Beat tracking by dynamic
programming, Journal of New Music Research 36(1)): each beat is worth the strength of its moment, for as long as it
lasts, less what its distance differs from the one before. So the tempo may drift, but never jumps. Where it begins
is told by what a player taps along, or by a tempo that is given, or is the likeliest one.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tabterm.dataclass import dataclass
from tabterm.recording.spectra import HOP, RATE_HZ, scale_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tabterm.recording.spectra import Samples
    from tabterm.score.metre import Metre

    Strengths = NDArray[np.float64]

FRAMES_A_SECOND = RATE_HZ / HOP  #: 1/s; definition
WINDOW = 1024  #: samples, 46 ms; tuned here: short enough to tell when something begins
USUAL_BPM = 120.0  #: bpm; Ellis 2007: the middle of usual tempos
OCTAVES = 0.8  #: octaves; tuned here: standard deviation of usual tempos around it
FASTEST_BPM, SLOWEST_BPM = 240.0, 50.0  #: bpm; tuned here
STRONGEST = 2.5  #: standard deviations; tuned here: what begins stronger is no more of a beat
STEADY = 500.0  #: standard deviations a squared octave; tuned here: a drift is cheap, a jump is not
OFF_TEMPO = 0.5  #: standard deviations a second; tuned here: of a tempo that is one of the following off
FOUND_OCTAVES = 0.25  #: octaves; tuned here: how far the tempo may drift from the likeliest one
GIVEN_OCTAVES = 0.2  #: octaves; tuned here: from one that is given
AROUND_OCTAVES = 0.6  #: octaves; tuned here: from one that is tapped, later on
TAPPED_OCTAVES = 0.1  #: octaves; tuned here: while it is tapped
TAP_S = 0.04  #: s; tuned here: standard deviation of a tap around what it means
TAPPED_ON = 20.0  #: standard deviations; tuned here: how strongly a tap draws the beats to itself
SLOWEST_TAP_S = 1.5  #: s; tuned here: taps further apart are not of one run
STRAIGHT, SWINGS = 0.5, (0.5, 0.54, 0.58, 0.62, 0.66, 0.7, 0.74)  #: share of a beat; definition; tuned here
SWUNG = 1.5  #: ratio; tuned here: of what a swung second eighth must be to what a straight one would be
QUARTERED = 0.9  #: share; tuned here: what a beat in four tells against it, of what a beat in two tells for it
BEGINS = 10.0  #: standard deviations; tuned here: how strongly the first note draws a beat to itself
OFFBEAT = 0.5  #: share; tuned here: how much the second eighth before a beat tells of it
BASS_BINS = 60  #: bins, from 41 to 131 Hz; tuned here: where a bass and a kick drum tell the first beat
SMOOTH = (0.25, 0.5, 0.25)  #: share of three frames; tuned here: an attack that lies between two is one
EARLY_S = 0.006  #: s; measured here: how much before an attack a spectrum shows it

PERIODS = np.arange(  #: frames; derived: the distances of two beats that are looked at
    round(60 * FRAMES_A_SECOND / FASTEST_BPM), round(60 * FRAMES_A_SECOND / SLOWEST_BPM) + 1
)


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
        here, then = (self.quarters_of(index - self.first) for index in (before, before + 1))
        return here + part * (then - here)

    def halved(self) -> Beats:
        """Every other beat, with the one that begins a measure among them: twice as slow."""
        odd = self.first % 2
        return Beats(self.moments_s[odd::2], self.first // 2, self.metre) if len(self.moments_s) > 3 else self

    def doubled(self) -> Beats:
        """A beat more between each two: twice as fast."""
        count = 2 * len(self.moments_s) - 1
        return Beats(tuple(self.moment_of(index / 2) for index in range(count)), 2 * self.first, self.metre)

    def beginning_at(self, moment_s: float) -> Beats:
        """The same with the beat nearest to a moment beginning a measure."""
        nearest = min(range(len(self.moments_s)), key=lambda beat: abs(self.moments_s[beat] - moment_s))
        return Beats(self.moments_s, nearest, self.metre)

    def moment_of(self, beat: float) -> float:
        """Seconds of a beat by its index, or of a part of one; beyond the ends the tempo stays."""
        before = min(max(int(beat // 1), 0), len(self.moments_s) - 2)
        here, then = self.moments_s[before : before + 2]
        return here + (beat - before) * (then - here)

    def quarters_of(self, beat: int) -> float:
        """Quarters from the measure that begins at beat `first` to a beat by its index."""
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


def tracked(
    sound: Samples,
    metre: Metre,
    *,
    bpm: float | None = None,
    downbeat_s: float | None = None,
    taps: Sequence[float] = (),
    swing: float | None = None,
) -> Beats:
    """The beats of a mono sound at `spectra.RATE_HZ`.

    Args:
        sound: At least a second of it.
        metre: What its measures are in.
        bpm: Beats a minute, where they are known; else the likeliest.
        downbeat_s: A moment at which a measure begins; else the first tap, or where the bass is strongest.
        taps: Seconds of beats that were tapped along, anywhere, at least two.
        swing: Where the second eighth of a beat lies, as a share of it: 1/2 where it is straight, 2/3 where it is
            swung; None: as it lies in what was tapped.
    """
    whole, bass = (np.minimum(each, STRONGEST) for each in strengths(sound))
    taps = sorted(taps)
    if downbeat_s is None and taps:
        downbeat_s = taps[0]
    known = [*taps, *([] if downbeat_s is None else [downbeat_s])]
    runs, cost = _runs(taps), _off_tempo(whole, metre, bpm, taps)
    drawn = whole + (_drawn(whole, known) if known else _drawn(whole, [_first(whole)], BEGINS))
    frames = _way(drawn, cost, _swing(whole, runs) if swing is None else swing)
    if swing is None and not runs and not metre.compound:
        told = _swing(whole, list(pairwise(frames / FRAMES_A_SECOND)), from_offbeats=True)
        frames = frames if told == STRAIGHT else _way(drawn, cost, told)
    moments = tuple(float((frame + _between(whole, frame)) * HOP / RATE_HZ + EARLY_S) for frame in frames)
    if downbeat_s is None:
        frames = frames[frames < len(whole)]
        count = min(len(metre.beats), len(frames))
        first = int(np.argmax([bass[frames[start :: len(metre.beats)]].sum() for start in range(count)]))
        return Beats(moments, first, metre)
    return Beats(moments, 0, metre).beginning_at(downbeat_s)


def _first(strength: Strengths) -> float:
    """Seconds of the first that begins; most lines begin on a beat (common practice, no source)."""
    return float(np.argmax(strength >= 1)) / FRAMES_A_SECOND


def _drawn(strength: Strengths, moments_s: Sequence[float], how: float = TAPPED_ON) -> Strengths:
    """How strongly each frame is drawn to be a beat by moments that are given: what begins near them is meant."""
    drawn = np.zeros(len(strength))
    for moment in moments_s:
        off = np.arange(len(strength)) / FRAMES_A_SECOND - moment
        likely = (strength + 1 / TAPPED_ON) * np.exp(-0.5 * (off / TAP_S) ** 2)
        drawn[likely.argmax()] = how
    return np.convolve(drawn, SMOOTH, "same")


def _off_tempo(strength: Strengths, metre: Metre, bpm: float | None, taps: Sequence[float]) -> Strengths:
    """What each distance of beats costs in each frame, in standard deviations a second; (frames, periods)."""
    near = _runs(taps)
    if bpm:
        period, octaves = 60 * FRAMES_A_SECOND / bpm, GIVEN_OCTAVES
    elif near:
        period, octaves = float(np.median([end - start for start, end in near])) * FRAMES_A_SECOND, AROUND_OCTAVES
    else:
        period, octaves = _period(strength, metre), FOUND_OCTAVES
    cost = np.tile(OFF_TEMPO * (np.log2(PERIODS / period) / octaves) ** 2, (len(strength), 1))
    for start, end in near:
        inside = slice(max(round(start * FRAMES_A_SECOND), 0), max(round(end * FRAMES_A_SECOND), 0) + 1)
        cost[inside] = OFF_TEMPO * (np.log2(PERIODS / ((end - start) * FRAMES_A_SECOND)) / TAPPED_OCTAVES) ** 2
    return cost


def _runs(taps: Sequence[float]) -> list[tuple[float, float]]:
    """Each tap and the next, where they are of one run."""
    return [(start, end) for start, end in pairwise(taps) if end - start <= SLOWEST_TAP_S]


def _swing(strength: Strengths, beats: Sequence[tuple[float, float]], *, from_offbeats: bool = False) -> float:
    """Where in beats, by the seconds of each and the next, the second eighth lies; 1/2 where nothing tells.

    Beats that have only been found may lie on the second eighths themselves, and the first ones between them.
    """
    if not beats:
        return STRAIGHT
    shares = np.array([*SWINGS, *((1 - share for share in SWINGS) if from_offbeats else ())])
    moments = np.array([start + shares * (end - start) for start, end in beats])
    frames = np.clip(np.round(moments * FRAMES_A_SECOND).astype(int), 0, len(strength) - 1)
    told = strength[frames].mean(axis=0)
    best = int(told.argmax())
    is_swung = told[best] > SWUNG * told[SWINGS.index(STRAIGHT)] + 1 / TAPPED_ON
    return float(max(shares[best], 1 - shares[best])) if is_swung else STRAIGHT


def _way(strength: Strengths, cost: Strengths, swing: float) -> NDArray[np.int64]:
    """The frames of the steadiest way through the strongest moments: each beat counts for the time up to it.

    Where eighths are swung, the second one before a beat tells where the beat is.
    """
    count, step = len(strength), PERIODS / FRAMES_A_SECOND
    turning = STEADY * np.log2(PERIODS[:, None] / PERIODS) ** 2
    onward, came = np.zeros((count, len(PERIODS))), np.full((count, len(PERIODS)), -1, np.int16)
    worth, columns = np.full((count, len(PERIODS)), -np.inf), np.arange(len(PERIODS))
    second = np.round((1 - swing) * PERIODS).astype(int)
    for frame in range(count):
        before = frame - PERIODS
        earlier = np.where(before >= 0, onward[np.maximum(before, 0), columns], 0.0)
        told = strength[frame] - cost[frame]
        if swing != STRAIGHT:
            told += OFFBEAT * strength[np.maximum(frame - second, 0)]
        worth[frame] = earlier + step * told
        options = worth[frame] - turning
        came[frame] = options.argmax(axis=1)
        onward[frame] = options.max(axis=1)
    last = count - 1 - int(worth[::-1][: PERIODS[-1]].max(axis=1).argmax())
    period = int(worth[last].argmax())
    found = [last]
    while found[-1] - PERIODS[period] >= 0:
        found.append(found[-1] - int(PERIODS[period]))
        period = int(came[found[-1], period])
    return np.array(found[::-1] if len(found) > 1 else [last, last + PERIODS[period]])


def _period(strength: Strengths, metre: Metre) -> float:
    """Frames of a beat, the likeliest: what comes again after it, in halves or thirds but not in quarters.

    The strengths are compared with themselves, later (autocorrelation). Eighths are the usual notes of a line.
    """
    size, longest = 1 << (2 * len(strength) - 1).bit_length(), 2 * int(PERIODS[-1])
    alike = np.fft.irfft(np.abs(np.fft.rfft(strength - strength.mean(), size)) ** 2)[: longest + 2]
    if alike[0] <= 0:
        return 60 * FRAMES_A_SECOND / USUAL_BPM
    alike = (alike / alike[0]).clip(0)
    alike = np.maximum(alike, np.maximum(np.roll(alike, 1), np.roll(alike, -1)))

    def after(frames: Strengths) -> Strengths:
        told: Strengths = alike[np.clip(np.round(frames).astype(int), 1, longest)]
        return told

    def divided(beat: Strengths) -> Strengths:
        """How much a beat is parted as its metre has it: evenly, or long and short, which is alike by half."""
        thirds = (after(beat / 3) + after(beat * 2 / 3)) / 2
        if metre.compound:
            return thirds
        swung = (1 - np.abs(2 * thirds / (after(beat) + 1e-9) - 1)).clip(0) * after(beat)
        return np.maximum(after(beat / 2), swung)

    beat = PERIODS.astype(float)
    told = after(beat) + after(2 * beat) / 2 + divided(beat) - QUARTERED * divided(beat / 2)
    usual = np.exp(-0.5 * (np.log2(60 * FRAMES_A_SECOND / beat / USUAL_BPM) / OCTAVES) ** 2)
    return float(beat[np.argmax(told.clip(0) * usual)])


def _between(strength: Strengths, frame: int) -> float:
    """How far from its frame the peak lies; -0.5 to 0.5 frames."""
    if not 0 < frame < len(strength) - 1:
        return 0.0
    before, here, after = (float(value) for value in strength[frame - 1 : frame + 2])
    bend = before - 2 * here + after
    return float(np.clip((before - after) / (2 * bend), -0.5, 0.5)) if bend < 0 else 0.0
