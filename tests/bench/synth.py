"""The built-in instrument: faster than it sounds by how much, how soon it begins, how much memory it takes."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

import psutil

from tabterm import formats
from tabterm.hand.strokes import with_proposals
from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack, Click, Options, Part, Pluck, perform
from tabterm.sound.excitation import bursts
from tabterm.sound.rendering import Rendering
from tabterm.sound.synthesiser import RATE, Synthesiser
from tabterm.sound.tone import steps_of
from tabterm.sound.voicing import voicing_of
from tests.bench.figure import Figure
from tests.build import PLAYER

if TYPE_CHECKING:
    from collections.abc import Callable

SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"
TIMES = 5
BLOCK_S = 0.02

MEMORY = """
import sys
from tests.bench.synth import resident_mb, rendered_s
resident = []
seconds = rendered_s(float(sys.argv[1]), lambda: resident.append(resident_mb()))
print(max(resident), seconds)
"""

LOADING = """
import time
start_s = time.process_time()
import tabterm.sound.synthesiser
print((time.process_time() - start_s) * 1000)
"""


def sample():
    """The sample, with strokes."""
    return with_proposals(formats.read(SAMPLE).music, PLAYER)


def figures() -> list[Figure]:
    """Every figure; the whole takes about 20 s."""
    return [*speeds(), *first_blocks(), *memory()]


def speeds() -> list[Figure]:
    """Work for a hundred seconds of sound, in time of the processor, so that others at work do not count."""
    score = sample()
    voicing = voicing_of(score.head.instrument)
    found = []
    for name, options, goal in (
        ("a solo", Options(), 100 / 150),
        ("a solo with click", Options(click=Click.BEATS), None),
    ):
        performance = perform(score, options=options)
        taken, sounded = [], 0
        for _ in range(TIMES):
            start_s = time.process_time()
            sounded = sum(len(block) for block in Rendering(performance, voicing).blocks())
            taken.append(time.process_time() - start_s)
        work_s = median(taken) * 100 / (sounded / RATE)
        note = f"{100 / work_s:.0f} x real time, median of {TIMES}"
        found.append(Figure(f"100 s of {name}", work_s, "s", goal, note))
    return found


def first_blocks() -> list[Figure]:
    """From an order in hand to the first samples: with no pitch worked out yet, and with all of them."""
    loading_ms = float(child(LOADING))
    voicing = voicing_of(PRESETS["mandolin"])
    chord = [Pluck(Part.SOLO, 4 - n, 55 + 7 * n, 0.008 * n, 2.0, 86, Attack.DOWN) for n in range(4)]
    cold_ms, warm_ms = [], []
    for number in range(TIMES):
        steps_of.cache_clear()
        bursts.cache_clear()
        for taken in (cold_ms, warm_ms):
            start_s = time.perf_counter()
            synthesiser = Synthesiser(voicing, seed=number)
            for pluck in chord:
                synthesiser.play(pluck, 0)
            synthesiser.read(round(BLOCK_S * RATE))
            taken.append((time.perf_counter() - start_s) * 1000)
    return [
        Figure(
            "first 20 ms of a chord, cold", median(cold_ms), "ms", 20, "four courses; of the 60 from key to sample"
        ),
        Figure("first 20 ms of a chord, warm", median(warm_ms), "ms", note=f"median of {TIMES}"),
        Figure("loading the synthesiser", loading_ms, "ms", note="processor time, once, numpy included"),
    ]


def memory() -> list[Figure]:
    """Largest resident size of a process that renders ten minutes, against one that renders one."""
    (short_mb, _), (long_mb, long_s) = (map(float, child(MEMORY, seconds).split()) for seconds in ("60", "600"))
    return [
        Figure(
            "memory for ten minutes more than for one", long_mb - short_mb, "MB", 4, f"{long_s:.0f} s rendered"
        ),
        Figure("memory for ten minutes", long_mb, "MB", 150, "resident, numpy and the score included"),
    ]


def child(code: str, *words: str) -> str:
    """What a Python of its own prints."""
    words = (sys.executable, "-c", code, *words)
    return subprocess.run(words, check=True, capture_output=True, text=True, cwd=Path(__file__).parents[2]).stdout


def rendered_s(seconds: float, look: Callable[[], None]) -> float:
    """Render the sample over and over for so long, looking after every block; the length that it came to."""
    score = sample()
    performance = perform(score, options=Options(click=Click.BEATS))
    turns = max(round(seconds / performance.duration_s), 1)
    frames = 0
    for block in Rendering(performance, voicing_of(score.head.instrument), turns=turns).blocks():
        frames += len(block)
        look()
    return frames / RATE


def resident_mb() -> float:
    """What this process holds of the machine's memory."""
    return psutil.Process().memory_info().rss / 1e6
