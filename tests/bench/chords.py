"""Tuning, and the chords of the band: bands of chance behind a solo, in two sets."""

from __future__ import annotations

import time
from collections import Counter

import numpy as np

from tabterm.recording import chords, spectra, tuning
from tests.bench.figure import Figure
from tests.recording import chords_trial as trial

CLIPS = 24
WORDS = {"root": "root wrong", "triad": "root, or major and minor, wrong", "seventh": "whole chord wrong"}


def figures():
    """What is told wrong of the beats of each set, and how far its tuning is off."""
    for name, how in trial.SETS.items():
        counts: Counter[str] = Counter()
        off: dict[bool, list[float]] = {True: [], False: []}
        spent = heard = 0.0
        for index in range(CLIPS):
            made = trial.clip(np.random.default_rng([how["seed"], index]), how, index)
            begun = time.process_time()
            cents = tuning.cents_off(made.sound) or 0.0
            of_bank = how["chords"][index % len(how["chords"])] is not None
            off[of_bank].append(abs(cents - made.cents))
            told = [each.symbol for each in chords.chords_of(made.sound, made.moments_s, cents=cents)]
            spent, heard = spent + time.process_time() - begun, heard + len(made.sound) / spectra.RATE_HZ
            for one, true in zip(told, made.truth, strict=True):
                counts.update(trial.judged(one, true))
        for part, words in WORDS.items():
            goal = 0.15 if part == "triad" else None
            wrong, note = 1 - counts[part] / counts["beats"], f"{counts['beats']} beats"
            yield Figure(f"{name}: {words}", wrong, "part", goal, note)
        yield Figure(f"{name}: tuning off, median", float(np.median(off[True])), "cents", 3)
        yield Figure(f"{name}: tuning off, most", max(off[True]), "cents", 3, f"lead: {how['lead']}")
        if off[False]:  # then nothing but drums is in tune: what is told is that of the string itself
            yield Figure(f"{name}: tuning off, most, all strings flat", max(off[False]), "cents")
        yield Figure(f"{name}: CPU a second of music", 1000 * spent / heard, "ms")
