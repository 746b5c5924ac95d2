"""Files: loading and saving 1,000 measures, and starting the command."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tabterm.formats import native
from tabterm.hand.strokes import with_proposals
from tabterm.score.model import Measure, Score
from tests.bench.figure import Figure
from tests.build import PLAYER

SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"


def long_score(count: int) -> Score:
    """The sample's measures, over and over, up to a number of measures."""
    sample = native.read(SAMPLE.read_bytes())
    measures: list[Measure] = list(sample.measures[:1])
    plain = [each.with_(repeat_start=False, repeat_times=0) for each in sample.measures[1:]]
    while len(measures) < count:
        measures += plain
    return with_proposals(Score(head=sample.head, measures=tuple(measures[:count])), PLAYER)


def seconds(function, times=5) -> float:
    """Median time of a call."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        function()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def figures() -> list[Figure]:
    """Figures of the files and of the command's start."""
    score = long_score(1000)
    data = native.write(score)
    help_command = [sys.executable, "-m", "tabterm", "--help"]
    nothing = [sys.executable, "-c", "pass"]
    start = seconds(lambda: subprocess.run(help_command, check=True, capture_output=True), 7)
    bare = seconds(lambda: subprocess.run(nothing, check=True, capture_output=True), 7)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.tabterm"
        path.write_bytes(data)
        read_file = seconds(lambda: native.read(path.read_bytes()))
    return [
        Figure("load 1,000 measures", read_file * 1000, "ms", 100, f"{len(data) / 1e6:.2f} MB"),
        Figure("save 1,000 measures", seconds(lambda: native.write(score)) * 1000, "ms", 100),
        Figure("tabterm --help", start * 1000, "ms", 150, f"of which the interpreter {bare * 1000:.0f} ms"),
    ]
