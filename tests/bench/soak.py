"""Half an hour of playing while the editor is busy: `python -m tests.bench.soak --minutes 30`.

Four engines play at once: to a JACK port and to the library's null device, each once without a change and once
with a new tempo or loop every few seconds. Nothing may drift, stay on, come too late or grow.
"""

from __future__ import annotations

import argparse
import os
import statistics
import threading
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import psutil

from tabterm.performance import Options, perform
from tabterm.score.place import Span
from tabterm.score.tempo import Tempo
from tabterm.sound.outputs import OutputKind, Wish
from tabterm.sound.playback import Playback
from tabterm.sound.precedence import take_precedence
from tests.bench.figure import Figure
from tests.bench.lateness import repainting
from tests.build import score
from tests.jack import Recorder, start_server

if TYPE_CHECKING:
    from tabterm.performance import Performance

TUNE = score(
    "8 4.0,8 h4.2,8 3.0,8 3.2,8 2.0,8 2.2,8 /2.4,8 1.0",
    "4 1.0 2.0,8 1.2,8 1.3,2 1.5",
    "8 1.5,8 1.3,8 p1.2,8 1.0,4 2.3,4 2.0",
    "16 2.0,16 2.2,16 1.0,16 1.2,4 1.3,2 2.0 3.0",
    tempo=Tempo(132.0),
)
LOOK_S = 0.02
WEIGH_S = 2.0
CHANGE_S = 3.7
"""Between two changes; no multiple of a beat."""

STALL_S = 0.04
"""A machine that stands still for so long takes the device's own thread with it, and the samples that wait."""

QUIET_S = 1.0
WINDOW = 0.1
"""What is compared is the first and the last tenth of the time."""


@dataclass
class Stalls:
    """How long the machine kept waiting even a thread with real-time priority that does nothing but sleep."""

    longest_s: float = 0.0
    count: int = 0
    over: bool = False

    def watch(self) -> None:
        """Until it is over."""
        take_precedence()
        while not self.over:
            slept_s = time.monotonic()
            time.sleep(STALL_S / 4)
            late_s = time.monotonic() - slept_s - STALL_S / 4
            self.longest_s = max(self.longest_s, late_s)
            self.count += late_s > STALL_S


@dataclass
class Run:
    """One engine under the soak.

    Attributes:
        player: Plays to it.
        steady: What is played is never changed.
        recorder: Hears it, where it is a port.
        turns_s: For every turn, when it began by the clock less when it should have.
        weights_kb: Its memory, every `WEIGH_S`.
        changes: How often what it plays has been changed.
    """

    name: str
    player: Playback
    steady: bool
    recorder: Recorder | None = None
    turns_s: dict[int, float] = field(default_factory=dict)
    weights_kb: list[float] = field(default_factory=list)
    changes: int = 0

    def look(self, performance: Performance) -> None:
        """Take note of where a steady one is."""
        position = self.player.position()
        if self.steady and position is not None:
            due_s = (position.turn - 1) * performance.duration_s + position.at_s
            self.turns_s[position.turn] = time.monotonic() - due_s

    def weigh(self) -> None:
        """Take note of the memory of its engine."""
        self.weights_kb.append(psutil.Process(self.player._process.pid).memory_info().rss / 1024)

    def change(self) -> None:
        """Another tempo, with or without a click, of the whole or of two measures."""
        self.changes += 1
        options = Options(tempo_percent=(100, 80, 125, 97)[self.changes % 4], count_in=self.changes % 2)
        span = (None, Span.of_measures(1, 2), Span.of_measures(0, 3))[self.changes % 3]
        self.player.change(perform(TUNE, span=span, options=options))


def soak(minutes: float, *, repaints: bool = True) -> list[Figure]:
    """Play for so long to a JACK server that runs, and say what came of it."""
    os.environ["TABTERM_AUDIO"] = "null"
    runs, stalls = [], Stalls()
    watch = threading.Thread(target=stalls.watch, daemon=True)
    watch.start()
    for steady in (True, False):
        recorder = Recorder(f"soak-{steady}")
        port = Wish(OutputKind.PORT, recorder.name)
        words = "steady" if steady else "changing"
        runs += [Run(f"port, {words}", Playback(port), steady, recorder)]
        runs += [Run(f"device, {words}", Playback(Wish(OutputKind.DEVICE)), steady)]
    try:
        if repaints:
            with repainting(pause_s=0.05):
                _play(runs, minutes * 60)
        else:
            _play(runs, minutes * 60)
        note = f"{stalls.count} longer than {STALL_S * 1000:g} ms"
        longest = Figure("the machine stood still, longest", stalls.longest_s * 1000, "ms", note=note)
        return [longest, *(figure for run in runs for figure in _figures(run))]
    finally:
        for run in runs:
            run.player.close()
            if run.recorder is not None:
                run.recorder.close()
        stalls.over = True


def _play(runs: list[Run], duration_s: float) -> None:
    performance = perform(TUNE)
    for run in runs:
        run.player.play(performance, loop=0)
    began_s = time.monotonic()
    weighed_s = changed_s = began_s
    while (now_s := time.monotonic()) - began_s < duration_s:
        for run in runs:
            if run.player.state != "playing":
                raise RuntimeError(f"{run.name}: {run.player.message}")
            run.look(performance)
            if not run.steady and now_s - changed_s > CHANGE_S:
                run.change()
            if now_s - weighed_s > WEIGH_S:
                run.weigh()
        changed_s = now_s if now_s - changed_s > CHANGE_S else changed_s
        weighed_s = now_s if now_s - weighed_s > WEIGH_S else weighed_s
        time.sleep(LOOK_S)
    for run in runs:
        run.player.stop()
    time.sleep(QUIET_S)


def _figures(run: Run) -> list[Figure]:
    found = []
    if run.steady and run.recorder is None:
        found.append(Figure(f"{run.name}: drift", _drift_ms(list(run.turns_s.values())), "ms", goal=1))
    if run.steady and run.recorder is not None:
        found.append(Figure(f"{run.name}: drift", _drift_ms(_late_turns(run.recorder)), "ms", goal=1))
    if run.recorder is not None:
        notes = f"of {len(run.recorder.notes())}; {sorted(run.recorder.sounding())}"
        found.append(Figure(f"{run.name}: notes left on", len(run.recorder.sounding()), "", goal=0, note=notes))
    else:
        found.append(Figure(f"{run.name}: underruns", run.player.underruns, "", goal=0))
    window = max(round(len(run.weights_kb) * WINDOW), 1)
    # The first samples are taken while tables are still being filled.
    grown_kb = statistics.median(run.weights_kb[-window:]) - statistics.median(run.weights_kb[window : 2 * window])
    note = f"of {run.weights_kb[-1]:.0f}; {run.changes} changes"
    return [*found, Figure(f"{run.name}: memory grown", grown_kb, "kB", note=note)]


def _late_turns(recorder: Recorder) -> list[float]:
    """For every turn, when its first note arrived less when it should have.

    Turns are counted by the clock: a JACK server without real-time priority loses notes on a busy machine.
    """
    performance = perform(TUNE)
    first = next(pluck.pitch for pluck in performance.plucks)
    each = [time_s for time_s, m in recorder.received if m[0] & 0xF0 == 0x90 and m[1] == first]
    turns = [(time_s - each[0]) / performance.duration_s for time_s in each]
    return [(turn - round(turn)) * performance.duration_s for turn in turns]


def _drift_ms(offsets_s: list[float]) -> float:
    """By how much the last tenth is later than the first.

    The earliest of each counts: what comes by the system's or the device's period comes late by up to one.
    """
    window = max(round(len(offsets_s) * WINDOW), 1)
    return (min(offsets_s[-window:]) - min(offsets_s[:window])) * 1000


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--quiet", action="store_true", help="without an editor that repaints")
    arguments = parser.parse_args()
    server = start_server(f"tabterm-soak-{os.getpid()}")
    os.environ |= server.environment
    try:
        for figure in soak(arguments.minutes, repaints=not arguments.quiet):
            print(figure, flush=True)
    finally:
        server.stop()
