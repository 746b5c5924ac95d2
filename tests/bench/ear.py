"""The ear on engines that its training never heard, and how quick the whole of it is on one core.

`TABTERM_BENCH_NET=FILE.npz` judges other weights than those that come along.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np

from tabterm.recording import ear
from tabterm.recording import net as nets
from tabterm.recording.audio import Recording
from tabterm.recording.listening import Listening
from tabterm.score.metre import COMMON_TIME
from tests.bench.figure import Figure
from tests.recording.ear import trial

SAMPLE = Path(__file__).parents[2] / "samples" / "tollgate-reel.ogg"
CLIPS, SEED = 6, 1
"""Clips of each engine."""

GOALS = {"alone": 0.025, "band equal": 0.10, "fixed": None, "band -6 dB": None}
"""Notes that may be missed or told wrong."""

FIRST = {"alone": None, "band equal": 0.04, "fixed": 0.07, "band -6 dB": None}
"""Known onsets at which the best pitch may be wrong."""


def net():
    """The weights that are judged."""
    named = os.environ.get("TABTERM_BENCH_NET")
    names = [layer.name for layer in (*nets.LAYERS, nets.HEAD)]
    return nets.net_of(dict(np.load(named)), names) if named else nets.trained()


def figures():
    """How much of the notes is missed or wrong, by what is behind the solo; how long a second of music takes."""
    yield from of_speed()
    for name, tally in trial.counted(net(), CLIPS, SEED, ear.SURE_ENOUGH).items():
        yield Figure(f"{name}: notes missed or wrong (1 - F1)", 1 - tally.f1, "part", GOALS[name], tally.line())
        yield Figure(f"{name}: onset off, median", float(np.median(tally.errors_ms)), "ms", 8)
        yield Figure(f"{name}: best pitch wrong", 1 - tally.share("first", "known"), "part", FIRST[name])
        goal = 0.01 if name == "band equal" else None
        yield Figure(f"{name}: pitch not in three", 1 - tally.share("in three", "known"), "part", goal)


def of_speed():
    """CPU time, whatever else the machine does, of each part over the sample's recording."""
    recording, spent = Recording.opened(SAMPLE), {}

    def timed(name, work):
        begun = time.process_time()
        found = work()
        spent[name] = time.process_time() - begun
        return found

    Listening.to(recording, 0.0, 2.0).notes()  # what is made once a process: weights and tables
    part = timed("reading and tuning", lambda: Listening.to(recording, 0.0, recording.length_s))
    beats = timed("beats", lambda: part.beats(COMMON_TIME))
    timed("chords", lambda: part.chords(beats))
    timed("notes, slurs and bends", part.notes)
    for name, seconds in spent.items():
        yield Figure(f"{name}: CPU a second of music", 1000 * seconds / recording.length_s, "ms")
    whole = sum(spent.values())
    note = f"{recording.length_s / whole:.1f} x real time"
    yield Figure("the whole ear: CPU a second of music", 1000 * whole / recording.length_s, "ms", 50, note)
