"""The real editor through a real pseudo-terminal: time and bytes of a key, start, memory."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil

from tabterm.formats import native
from tabterm.storage.names import away
from tabterm.tui.terminal.first import KIND
from tests.bench.figure import Figure
from tests.bench.files import long_score
from tests.terminal import Editor, key_bytes

SIZES = (16, 200, 1000)
ROUNDS = 60


INSTALLED = os.environ.get("TABTERM_BENCH_ENV")
"""A virtual environment that the program has been installed into, as a player does; its start is measured there.

Without it that of the program that these tests run with is: an editable one finds its modules more slowly.
"""

LIBRARIES = "import pydantic, textual.app, textual.widgets"
"""What the editor cannot do without; loading it alone is most of the start."""

ECHO_QUIET_S, ADVICE_QUIET_S = 0.01, 0.1
"""Quiet that ends what a key itself shows, and what is proposed after it (which begins 20 ms later)."""


def one_key(editor: Editor, key: str) -> tuple[float, float, int]:
    """Milliseconds from a key to the last byte of what it shows, and of what is then proposed; all bytes."""
    before = editor.received
    editor.last_byte = start = time.monotonic()
    editor.type_bytes(key_bytes(key))
    while editor.received == before and time.monotonic() < start + 1.0:
        editor.read(0.001, 0.01)
    editor.read(ECHO_QUIET_S, 1.0)
    shown = editor.last_byte
    editor.read(ADVICE_QUIET_S, 2.0)
    return (shown - start) * 1000, (editor.last_byte - start) * 1000, editor.received - before


def many(editor: Editor, keys: list[str]) -> tuple[float, float, float, float]:
    """Median and 99th percentile of the time until a key is shown; the latter until all is; median of bytes."""
    results = [one_key(editor, keys[number % len(keys)]) for number in range(ROUNDS)]
    shown, settled = (sorted(result[which] for result in results) for which in (0, 1))
    last = int(len(results) * 0.99) - 1
    return statistics.median(shown), shown[last], settled[last], statistics.median(result[2] for result in results)


def first_paint(path: Path, **environment: str) -> float:
    """Milliseconds from the start of the program, compiled as an installed one is, to a screen with courses."""
    command = [f"{INSTALLED}/bin/tabterm", str(path)] if INSTALLED else None
    editor = Editor(path, command=command, PYTHONDONTWRITEBYTECODE="", **environment)
    try:
        while "E |" not in editor.text:
            editor.read(0.01, 0.02)
        return (editor.last_byte - editor.started) * 1000
    finally:
        editor.close()


def libraries_ms() -> float:
    """Milliseconds to load the libraries alone, in the same environment."""
    python = f"{INSTALLED}/bin/python" if INSTALLED else sys.executable

    def once() -> float:
        start = time.monotonic()
        subprocess.run([python, "-c", LIBRARIES], check=True)
        return (time.monotonic() - start) * 1000

    once()
    return statistics.median(once() for _ in range(9))


PAINT_SHARE = 0.6
"""The part of the time that interpreter and libraries alone take in which the first picture is to stand."""


def of_size(count: int, folder: Path, alone_ms: float) -> list[Figure]:
    """Figures with a score of so many measures, on a machine that loads the libraries in so long."""
    path = folder / f"{count}.tabterm"
    path.write_bytes(native.write(long_score(count)))
    first_paint(path)  # which compiles what has not been compiled yet
    afresh_ms = statistics.median(first_paint(path, XDG_STATE_HOME=tempfile.mkdtemp(dir=folder)) for _ in range(5))
    opened = Editor(path).ready()
    while not away(path, KIND).exists():
        opened.read(0.1)
    opened.quit()
    start_ms = statistics.median(first_paint(path) for _ in range(9))
    editor = Editor(path).ready()
    try:
        start_bytes = editor.received
        editor.read(1.0)
        idle = editor.read(1.0, 3.0)
        editor.press("a")
        move = many(editor, ["right"] * 8 + ["left"] * 8)
        fret = many(editor, ["5", "left", "7", "left"])
        page = many(editor, ["pagedown", "pageup"])
        process = psutil.Process(editor.process.pid)
        memory = process.memory_info().rss / 1e6
    finally:
        editor.close()
    name = f"{count} measures: "
    return [
        Figure(name + "first paint", start_ms, "ms", PAINT_SHARE * alone_ms),
        Figure(name + "first paint of a file never opened before", afresh_ms, "ms", PAINT_SHARE * alone_ms),
        Figure(name + "bytes of the start", start_bytes, "B", None),
        Figure(name + "bytes in 3 s without a key", idle, "B", None, "goal 0"),
        Figure(name + "cursor move, p50", move[0], "ms", 8),
        Figure(name + "cursor move, p99", move[1], "ms", 30),
        Figure(name + "cursor move", move[3], "B", 60),
        Figure(name + "fret edit or step back, p50", fret[0], "ms", 8),
        Figure(name + "fret edit or step back, p99", fret[1], "ms", 30),
        Figure(name + "fret edit or step back: fingers proposed, p99", fret[2], "ms", 100),
        Figure(name + "fret edit or step back", fret[3], "B", 100),
        Figure(name + "page, p50", page[0], "ms", 8),
        Figure(name + "page", page[3], "B", 3000),
        Figure(name + "memory of the editor", memory, "MB", 70),
    ]


def figures() -> list[Figure]:
    """Figures for each size of score."""
    os.environ.setdefault("XDG_STATE_HOME", tempfile.mkdtemp())
    with tempfile.TemporaryDirectory() as folder:
        alone_ms = libraries_ms()
        figures = [figure for count in SIZES for figure in of_size(count, Path(folder), alone_ms)]
    return [Figure("interpreter with Textual and pydantic alone: start", alone_ms, "ms"), *figures]
