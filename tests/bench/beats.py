"""The beat tracker on engines of their own: what it finds with taps, with a tempo, and with nothing."""

from __future__ import annotations

import time
from itertools import product

import numpy as np

from tabterm.recording import beats, spectra
from tabterm.score.metre import COMMON_TIME
from tests.bench.figure import Figure
from tests.recording import beats_trial as trial
from tests.recording import oracle

WAYS = ("taps", "tempo", "nothing")


def figures():
    """What is missed over all engines, alone and over a band, straight and swung, at all tempos."""
    tally: dict[str, list] = {way: [] for way in WAYS}
    spent = heard = 0.0
    for engine, band, swing, tempos in product(oracle.engines(), (False, True), (False, True), trial.TEMPOS):
        sound = trial.recorded(engine, *tempos, band=band, swing=swing)
        truth = [trial.moment(beat, *tempos) for beat in range(trial.BEATS)]
        for way, counted in tally.items():
            begun = time.process_time()
            found = beats.tracked(sound, COMMON_TIME, **trial.told_of(way, truth, tempos))
            spent, heard = spent + time.process_time() - begun, heard + len(sound) / spectra.RATE_HZ
            furthest, share, begins = trial.judged(found, truth)
            counted.append((furthest <= 1000 * trial.NEAR_S and share == 1, share, begins))
    for way, counted in tally.items():
        whole, share, begins = (float(np.mean(column)) for column in zip(*counted, strict=True))
        goal, note = (0 if way == "taps" else None), f"{len(counted)} recordings"
        yield Figure(f"{way}: recordings with a beat missed", 1 - whole, "part", goal, note)
        yield Figure(f"{way}: beats missed", 1 - share, "part", goal)
        yield Figure(f"{way}: measures begin wrong", 1 - begins, "part", goal)
    yield Figure("beats: CPU a second of music", 1000 * spent / heard, "ms")
