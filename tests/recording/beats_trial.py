"""Figures of the beat tracker on engines of their own (`tests/recording/oracle.py`), with taps and without.

    python -m tests.recording.beats_trial [--engines stk,steel,banjo,csound]

The fixed phrase of the ear's trial four times, alone and over bass, chords and drums, at steady and drifting
tempos, straight and swung. Taps are those of the first two measures, each off by a draw of 20 ms (standard
deviation).
"""

from __future__ import annotations

import argparse
import math
import time
from functools import cache
from itertools import product

import numpy as np

from tabterm.recording import beats, spectra
from tabterm.score.metre import COMMON_TIME
from tests.recording import oracle
from tests.recording.ear import trial
from tests.recording.ear.bank import halved

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


def judged(found: beats.Beats, truth: list[float]) -> tuple[float, float, bool]:
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


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engines", default=",".join(oracle.engines()))
    asked = parser.parse_args()
    tally: dict[str, list] = {"taps": [], "tempo": [], "nothing": []}
    spent = heard = 0.0
    for engine, band, swing, tempos in product(asked.engines.split(","), (False, True), (False, True), TEMPOS):
        sound, line = recorded(engine, *tempos, band=band, swing=swing), []
        truth = [moment(beat, *tempos) for beat in range(BEATS)]
        for way, counted in tally.items():
            begun = time.thread_time()
            found = beats.tracked(sound, COMMON_TIME, **told_of(way, truth, tempos))
            spent, heard = spent + time.thread_time() - begun, heard + len(sound) / spectra.RATE_HZ
            furthest, share, begins = judged(found, truth)
            tempo_off = abs(math.log2(found.bpm / (sum(tempos) / 2)))
            counted.append((furthest <= 1000 * NEAR_S and share == 1, share, begins, tempo_off < 0.3))
            line.append(f"{way} {furthest:5.0f} ms {share:.2f} {'' if begins else 'bar!'}")
        what = f"{'band' if band else 'alone':6}{'swung' if swing else '':6}"
        print(f"{engine:7} {what}{tempos[0]:4}-{tempos[1]:<4} {' | '.join(line)}", flush=True)
    for way, counted in tally.items():
        whole, share, begins, tempo = (float(np.mean(column)) for column in zip(*counted, strict=True))
        count = f"{len(counted)} recordings"
        print(
            f"{way:8} all beats {whole:.2f} of {count}, beats {share:.3f}, measure {begins:.2f}, tempo {tempo:.2f}"
        )
    print(f"{heard / spent:.0f} x real time")


if __name__ == "__main__":
    main()
