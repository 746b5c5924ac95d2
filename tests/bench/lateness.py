"""How late notes are sent, and how soon sound starts and stops, while an editor repaints.

Messages go to a real JACK port, samples to the null device of the audio library, which takes them in real time.
"""

from __future__ import annotations

import os
import select
import shutil
import statistics
import tempfile
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.performance import perform
from tabterm.score.tempo import Tempo
from tabterm.sound.device import LATENCY_S
from tabterm.sound.outputs import OutputKind, Wish
from tabterm.sound.playback import Playback
from tests.bench.figure import Figure
from tests.build import score
from tests.jack import Recorder, start_server
from tests.terminal import Editor, key_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.performance import Performance

NOTES = 500
TIMES = 20
SAMPLE = Path(__file__).parents[2] / "samples" / "quarry-road-breakdown.tabterm"


def figures() -> list[Figure]:
    """Every figure of the sound; the whole takes about a minute."""
    server = start_server(f"tabterm-bench-{os.getpid()}")
    os.environ |= server.environment | {"TABTERM_AUDIO": "null"}
    recorder = Recorder("bench")
    player, device = Playback(Wish(OutputKind.PORT, recorder.name)), Playback(Wish(OutputKind.DEVICE))
    try:
        found = lateness(player, "nothing else to do")
        with repainting() as frames:
            found += lateness(player, "the editor repaints")
            found += starts_and_stops(player, recorder)
            found += first_samples(device)
            found.append(Figure("bytes the editor painted meanwhile", frames.received / 1000, "kB"))
        return found + cold_start() + performing()
    finally:
        player.close()
        device.close()
        recorder.close()
        server.stop()


def lateness(player: Playback, state: str) -> list[Figure]:
    """Between the moment a note is due and the moment it has been handed to the port."""
    performance = five_hundred()
    player.play(performance, measures_lateness=True)
    wait_idle(player)
    pairs = zip(performance.messages, player.late_s, strict=True)
    late_ms = sorted(late_s * 1000 for message, late_s in pairs if message.data[0] & 0xF0 == 0x90)
    note = f"{len(late_ms)} notes, {state}"
    return [
        Figure("lateness of a note, median", statistics.median(late_ms), "ms", note=note),
        Figure("lateness of a note, 99 %", late_ms[round(len(late_ms) * 0.99) - 1], "ms", goal=0.2, note=note),
        Figure("lateness of a note, largest", late_ms[-1], "ms", note=note),
    ]


def starts_and_stops(player: Playback, recorder: Recorder) -> list[Figure]:
    """From the order to the first note, and to the last note-off, as they arrive in another process."""
    performance = perform(score("1 1.0 2.0", tempo=Tempo(40.0)))
    starts_ms, stops_ms = [], []
    for _ in range(TIMES):
        recorder.received.clear()
        ordered_s = time.monotonic()
        player.play(performance)
        recorder.wait_for(2)
        starts_ms.append((arrival(recorder, 0x90) - ordered_s) * 1000)
        ordered_s = time.monotonic()
        player.stop()
        while recorder.sounding():
            time.sleep(0.0005)
        stops_ms.append((arrival(recorder, 0x80) - ordered_s) * 1000)
    note = f"largest of {TIMES}, the editor repaints"
    return [
        Figure("start of sound after play", max(starts_ms), "ms", goal=50, note=note),
        Figure("end of sound after stop", max(stops_ms), "ms", goal=50, note=note),
    ]


def first_samples(player: Playback) -> list[Figure]:
    """From the order to the first sample that the device takes; what it keeps itself comes on top."""
    performance = perform(score("2 1.0 2.0", metre="2/4", tempo=Tempo(240.0)))
    player.start()
    player.outputs()
    waits_ms = []
    for _ in range(TIMES):
        ordered_s = time.monotonic()
        player.play(performance)
        wait_idle(player)
        waits_ms.append(((player.started_s or 0.0) - LATENCY_S - ordered_s) * 1000)
    note = f"{TIMES} times, the editor repaints"
    return [
        Figure("first sample after play, median", statistics.median(waits_ms), "ms", goal=60, note=note),
        Figure("first sample after play, largest", max(waits_ms), "ms", goal=60, note=note),
        Figure("samples that came too late", player.underruns, "", goal=0, note=note),
    ]


def cold_start() -> list[Figure]:
    """The same for the first sound of all, when the engine's process must be started and a device opened."""
    player = Playback(Wish(OutputKind.DEVICE))
    ordered_s = time.monotonic()
    player.play(perform(score("1 1.0", tempo=Tempo(400.0))))
    called_s = time.monotonic()
    wait_idle(player)
    started_s = player.started_s or 0.0
    player.close()
    return [
        Figure("start of sound with a cold engine", (started_s - ordered_s) * 1000, "ms"),
        Figure("the caller waits for a cold engine", (called_s - ordered_s) * 1000, "ms"),
    ]


def performing() -> list[Figure]:
    """The work before playing, by the length of the score."""
    found = []
    for measures in (16, 200, 1000):
        line = "16 1.0,16 1.2,16 h1.3,16 2.0,8 /2.2,8 3.0 4.0,2 1.0"
        built = score(*[line] * measures)
        began_s = time.perf_counter()
        perform(built)
        found.append(Figure(f"performing {measures} measures", (time.perf_counter() - began_s) * 1000, "ms"))
    return found


def five_hundred() -> Performance:
    """Sixteenths at 400 quarters a minute, 37.5 ms apart, over all courses."""
    line = ",".join(f"16 {n % 4 + 1}.{n % 5}" for n in range(16))
    last = "16 1.0,16 2.0,16 3.0,16 4.0,2."
    return perform(score(*[line] * (NOTES // 16), last, tempo=Tempo(400.0)))


def arrival(recorder: Recorder, kind: int) -> float:
    """When the first message of a kind came."""
    return next(time_s for time_s, message in recorder.received if message[0] & 0xF0 == kind)


def wait_idle(player: Playback) -> None:
    """Sleep until the performance has ended; raises RuntimeError when it could not be played."""
    while player.state == "playing":
        time.sleep(0.02)
    if player.state == "failed":
        raise RuntimeError(player.message)


@contextmanager
def repainting(pause_s: float = 0.002) -> Iterator[Editor]:
    """An editor in a pseudo-terminal whose cursor and pages never rest for longer than a pause."""
    with tempfile.TemporaryDirectory() as folder:
        file = shutil.copy(SAMPLE, folder)
        editor = Editor(file, columns=120, lines=40, XDG_CONFIG_HOME=folder, XDG_STATE_HOME=folder).ready()
        resting = threading.Event()
        fingers = threading.Thread(target=_press_keys, args=(editor, resting, pause_s))
        fingers.start()
        try:
            yield editor
        finally:
            resting.set()
            fingers.join()
            editor.close()


def _press_keys(editor: Editor, resting: threading.Event, pause_s: float) -> None:
    """Keep the editor painting, and take what it paints."""
    keys = [key_bytes(name) for name in (*["right"] * 8, "pagedown", *["left"] * 8, "pageup")]
    number = 0
    while not resting.is_set():
        editor.type_bytes(keys[number % len(keys)])
        number += 1
        while select.select([editor._master], [], [], pause_s)[0]:
            editor.received += len(os.read(editor._master, 65536))
