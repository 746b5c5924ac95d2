"""Figures of the beat tracker on engines of their own (`tests/recording/oracle.py`), with taps and without.

    python -m tests.bench beats

The fixed phrase of the ear's trial four times, alone and over bass, chords and drums, at steady and drifting
tempos, straight and swung. Taps are those of the first two measures, each off by a draw of 20 ms (standard
deviation).
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from tests.recording import oracle
from tests.recording.ear import trial
from tests.recording.ear.bank import halved

if TYPE_CHECKING:
    from tabterm.recording.beats import Beats

START_S = 0.5
BEATS = 64
TEMPOS = ((80, 80), (80, 112), (96, 116), (110, 130), (130, 105), (140, 150), (165, 180), (200, 200), (200, 180))
TAPS_S = 0.02
"""Standard deviation of a tap (common practice, no source)."""
NEAR_S = 0.04


def moment(beat: float, first: float, last: float) -> float:
    """Seconds of a beat where the tempo goes evenly, by beats, from one to another."""
    change = (last - first) / BEATS
    return START_S + (60 * beat / first if not change else 60 / change * math.log(1 + change * beat / first))


def swung(beat: float, *, swing: bool) -> float:
    """A place in eighths with its second eighth at two thirds."""
    return beat + (1 / 6 if swing and beat % 1 == 0.5 else 0)


@cache
def recorded(engine: str, first: float, last: float, *, band: bool = False, swing: bool = False) -> np.ndarray:
    """The phrase, at the ear's rate."""

    def at(beat: float) -> float:
        return moment(swung(beat, swing=swing), first, last)

    notes = [
        oracle.Note(at(index / 2), int(sign.lstrip("^")), 0.2, sign[0] == "^")
        for index, sign in enumerate(trial.FIXED * (BEATS // 16))
    ]
    length_s = notes[-1].start_s + 2
    lead = oracle.rendered(engine, notes, length_s)
    if not band:
        return halved(lead).astype(np.float32)
    played: list[oracle.Played] = []
    for beat in range(BEATS):
        bass, chord = trial.FIXED_BAND[beat // 4 % 4]
        long_s = 0.9 * (at(beat + 1) - at(beat))
        if beat % 2:
            played += [(3, at(beat) + 0.008 * index, pitch, long_s, 90) for index, pitch in enumerate(chord)]
        else:
            played.append((2, at(beat), bass - 5 * (beat % 4 == 2), long_s, 100))
        played += [
            (9, at(beat), 38 if beat % 2 else 36, 0.1, 90),
            (9, at(beat), 42, 0.1, 70),
            (9, at(beat + 0.5), 42, 0.1, 60),
        ]
    mixed = lead / trial.level(lead) + (backing := oracle.band(played, {2: 32, 3: 25}, length_s)) / trial.level(
        backing
    )
    return halved(mixed).astype(np.float32)


def judged(found: Beats, truth: list[float]) -> tuple[float, float, bool]:
    """The furthest of a beat in ms, the share of beats within 40 ms, and whether measures begin where they do."""
    off = [min(abs(each - at) for each in found.moments_s) for at in truth]
    extra = len([each for each in found.moments_s if truth[0] - 0.1 < each < truth[-1] + 0.1]) - len(truth)
    share = sum(each <= NEAR_S for each in off) / len(truth)
    place = min(range(len(truth)), key=lambda index: abs(truth[index] - found.moments_s[found.first]))
    begins = place % 4 == 0 and abs(truth[place] - found.moments_s[found.first]) <= NEAR_S
    return 1000 * max(off), share if extra <= 1 else share * len(truth) / (len(truth) + extra), begins


def told_of(way: str, truth: list[float], tempos: tuple[int, int]) -> dict:
    """What the tracker is told in one of the ways."""
    draw = np.random.default_rng(tempos)
    taps = tuple(at + draw.normal(0, TAPS_S) for at in truth[:8])
    return {"taps": {"taps": taps}, "tempo": {"bpm": sum(tempos) / 2, "downbeat_s": START_S}}.get(way, {})
