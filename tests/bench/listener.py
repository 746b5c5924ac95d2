"""What a listener adds, over a line of 150 ms and up to 100 ms more each way: lateness, start, bytes, hardness."""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from array import array
from pathlib import Path
from typing import TYPE_CHECKING

import psutil

from tabterm.performance import Options, perform
from tabterm.score.tempo import Tempo
from tabterm.sound import packing
from tabterm.sound.link import Frame
from tabterm.sound.plan import Plan
from tabterm.sound.remote.address import SocketFile
from tabterm.sound.remote.call import call
from tabterm.sound.remote.inspection import checked_plan, folded
from tabterm.sound.remote.records import Records
from tabterm.sound.voicing import voicing_of
from tests.bench.figure import Figure
from tests.bench.lateness import five_hundred
from tests.build import score
from tests.jack import Recorder, start_server
from tests.sound.remote.malformed import bombard
from tests.sound.remote.near import Far, packed, wait_until
from tests.sound.remote.process import Listening
from tests.sound.remote.slow import SlowLine

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.performance import Performance

TIMES = 20
FRAMES = 10_000
TEN_MINUTES = 300
LINE = "16 1.0,16 1.2,16 h1.3,16 2.0,8 /2.2,8 3.0 4.0,8 1.2,8 1.3,8 1.5,8 /1.7"
"""Measures of two seconds, and one of them: slurs, slides, double stops."""


def figures() -> Iterator[Figure]:
    """Every figure of the listener; the whole takes about two minutes."""
    server = start_server(f"tabterm-bench-{os.getpid()}")
    os.environ |= server.environment
    recorder = Recorder("bench")
    with tempfile.TemporaryDirectory() as name:
        listening = Listening(Path(name), recorder.name)
        line = SlowLine(SocketFile(Path(name) / "far.sock"), listening.address)
        far = Far(Path(name) / "far.sock")
        try:
            yield from lateness(far)
            yield from starts(far, recorder, Path(name) / "far.sock")
            far.close()
            yield from size()
            yield from hardness(listening, recorder)
        finally:
            far.close()
            line.close()
            listening.close()
            recorder.close()
            server.stop()


def plan_of(performance: Performance, number: int) -> Plan:
    """A plan, with the sound of the usual instrument."""
    return Plan.of(performance, voicing_of(score("1 1.0").head.instrument), number=number, measures_lateness=True)


def lateness(far: Far) -> Iterator[Figure]:
    """Between the moment a note is due and the moment it is handed to the port at the listener."""
    performance = five_hundred()
    body, values = packing.packed(plan_of(performance, 1))
    far.link.send("play", body, **values)
    late_s = array("d", far.hear("ended", 60).body)
    pairs = zip(performance.messages, late_s, strict=True)
    late_ms = sorted(late_s * 1000 for message, late_s in pairs if message.data[0] & 0xF0 == 0x90)
    note = f"{len(late_ms)} notes at the listener"
    yield Figure("lateness of a note, median", statistics.median(late_ms), "ms", note=note)
    yield Figure("lateness of a note, 99 %", late_ms[round(len(late_ms) * 0.99) - 1], "ms", goal=1.0, note=note)
    yield Figure("lateness of a note, largest", late_ms[-1], "ms", note=note)


def starts(far: Far, recorder: Recorder, address: Path) -> Iterator[Figure]:
    """From the order to the first note as it arrives, beside round trips of the same line."""
    starts_ms, stops_ms, trips_ms = [], [], []
    for number in range(2, 2 + TIMES):
        recorder.received.clear()
        body, values = packed(score("1 1.0 2.0", tempo=Tempo(40.0)), number)
        ordered_s = time.monotonic()
        far.link.send("play", body, **values)
        recorder.wait_for(1)
        starts_ms.append((first(recorder, 0x90) - ordered_s) * 1000)
        far.hear("turn")
        ordered_s = time.monotonic()
        far.link.send("stop")
        wait_until(lambda: not recorder.sounding())
        stops_ms.append((first(recorder, 0x80) - ordered_s) * 1000)
    for _ in range(TIMES):
        line = call(str(address))
        trips_ms.append(line.round_trip_s * 1000)
        line.link.close()
        time.sleep(0.3)
    trip = statistics.median(trips_ms)
    yield Figure("round trip, median", trip, "ms", note=f"of {TIMES}")
    for name, found in (("start of sound after play", starts_ms), ("end of sound after stop", stops_ms)):
        yield Figure(f"{name}, median", statistics.median(found), "ms", goal=trip, note="goal: one round trip")
        yield Figure(f"{name}, largest", max(found), "ms", goal=max(trips_ms), note="goal: the longest round trip")


def size() -> Iterator[Figure]:
    """What goes over the line, and the work that looking at it is."""
    phrase = perform(score(*[LINE] * 4), options=Options(click=True))
    long = perform(score(*[LINE] * TEN_MINUTES), options=Options(click=True))
    for name, performance in (("four measures", phrase), ("ten minutes", long)):
        body, values = packing.packed(plan_of(performance, 1))
        short = folded(body)
        began_s = time.perf_counter()
        checked_plan(Frame("play", values, short), Records())
        spent_ms = (time.perf_counter() - began_s) * 1000
        note = f"{len(performance.messages)} messages, {len(body) / 1000:.0f} kB before it is folded"
        yield Figure(f"a plan of {name}", len(short) / 1000, "kB", note=note)
        yield Figure(f"looking at a plan of {name}", spent_ms, "ms")


def hardness(listening: Listening, recorder: Recorder) -> Iterator[Figure]:
    """Frames that no editor sends."""
    recorder.received.clear()
    began_s = time.perf_counter()
    told = bombard(listening, FRAMES)
    per_frame_ms = (time.perf_counter() - began_s) / FRAMES * 1000
    yield Figure(f"crashes in {FRAMES} malformed frames", float(listening.process.poll() is not None), "", goal=0)
    yield Figure("messages at the port meanwhile", len(recorder.received), "", goal=0)
    yield Figure("memory at the end, more than at a tenth", told.memory_bytes / 1000, "kB", goal=4000)
    whole = psutil.Process(listening.process.pid).memory_info().rss / 1e6
    yield Figure("memory of the listener", whole, "MB", note="its engine not counted")
    yield Figure("a malformed frame and a new connection", per_frame_ms, "ms")


def first(recorder: Recorder, kind: int) -> float:
    """When the first message of a kind came."""
    return next(time_s for time_s, message in recorder.received if message[0] & 0xF0 == kind)
