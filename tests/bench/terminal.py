"""Bytes and times at the terminal, beside general-purpose editors doing the nearest same thing in the same run.

`vim` (with its ruler) and `micro` are measured where they are installed, on the sample printed as text: the cursor
one to the right, a character replaced or typed, a page down and up.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from itertools import cycle
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.formats import native
from tests.bench.editor import ROUNDS, many, one_key
from tests.bench.figure import Figure
from tests.bench.files import SAMPLE, long_score
from tests.jack import Recorder, start_server
from tests.terminal import Editor, key_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

MOVES = ["right"] * 8 + ["left"] * 8
PAGES = ["pagedown", "pageup"]
BEGIN = ["ctrl+home", "tab", "d"]
CHANGED = ["4", "3", "1", "2", *BEGIN, "5", "4", "2", "0", *BEGIN]
"""Other frets for the first four notes of the sample's first whole measure, and back."""

WRITTEN = ["0", "2", "3", "5"]
"""Notes behind the end, where a measure is added with every eighth."""
OTHERS = {
    "vim": (["vim", "-u", "NONE", "-N", "-c", "set ruler"], ["r5", "r7"]),
    "micro": (["micro"], ["5", "backspace"]),
}
"""Other editors: their command, and the keys that change a character."""


class Foreign(Editor):
    """Another editor, whose bytes are counted and not shown."""

    def take(self, data: bytes) -> None:
        self.received += len(data)
        self.last_byte = time.monotonic()


def settled(editor: Editor) -> Editor:
    """Wait until nothing more comes."""
    while editor.read(0.3, 2.0) or not editor.received:
        pass
    return editor


def edits(editor: Editor, keys: list[str]) -> float:
    """Median of the bytes of the digits among some keys, with the neck and all that is proposed thereupon."""
    results = [(key, one_key(editor, key)[2]) for key in keys * (ROUNDS // len(keys))]
    return statistics.median(count for key, count in results if key.isdecimal())


def ours(folder: Path, recorder: Recorder, look: str, columns: int = 80, lines: int = 24) -> list[Figure]:
    """Bytes of tabterm with a look, status line and neck shown."""
    path = Path(shutil.copy(SAMPLE, folder / f"{look}{columns}.tabterm"))
    sixteen = look == "terminal"
    editor = settled(Editor(path, "--look", look, columns=columns, lines=lines))
    name = f"{columns}x{lines}, {'16 colours' if sixteen else 'truecolour'}: "
    try:
        start = editor.received
        editor.press("ctrl+home", "a", "tab")
        page_goal = 8000 if columns > 80 else 1500 if sixteen else 3000
        found = [Figure(name + "page", many(editor, PAGES)[3], "B", page_goal)]
        if columns > 80:
            return found
        editor.press("ctrl+home")
        move = many(editor, MOVES)
        editor.press(*BEGIN)
        changed = edits(editor, CHANGED)
        editor.press("ctrl+end", "right", "right")
        written = edits(editor, WRITTEN)
        editor.press("ctrl+home", "f5")
        before, heard = editor.received, len(recorder.notes())
        end_s = time.monotonic() + 5.0
        while time.monotonic() < end_s:
            editor.read(0.05, 0.2)
        playing = (editor.received - before) / 5
        heard = len(recorder.notes()) - heard
        return [
            Figure(name + "start", start, "B", 6000),
            Figure(name + "cursor move, p50", move[3], "B", 50 if sixteen else None),
            Figure(name + "cursor move, p50", move[0], "ms", 5),
            Figure(name + "fret changed, p50", changed, "B", 80 if sixteen else None, "with all that is proposed"),
            Figure(name + "fret written, p50", written, "B", 80 if sixteen else None, "with all that is proposed"),
            *found,
            Figure(name + "playing", playing, "B/s", 400, f"{heard} notes heard"),
        ]
    finally:
        editor.close()


def theirs(folder: Path, name: str) -> list[Figure]:
    """The same of another editor, where it is installed."""
    if shutil.which(name) is None:
        return []
    editor, ours = opened(folder, name), settled(Editor(shutil.copy(SAMPLE, folder), "--look", "terminal"))
    try:
        start = editor.received
        move, edit, page = (many(editor, keys) for keys in (MOVES, OTHERS[name][1], PAGES))
        ours.press("ctrl+home", "a", "tab", "ctrl+home")
        times = in_turns(ours, editor)
    finally:
        editor.close()
        ours.close()
    return [
        Figure(f"{name}: start", start, "B"),
        Figure(f"{name}: cursor move, p50", move[3], "B"),
        Figure(f"{name}: cursor move, p50", move[0], "ms"),
        Figure(f"{name}: a character changed, p50", edit[3], "B"),
        Figure(f"{name}: page", page[3], "B"),
        Figure(f"cursor move, p50, as often as that of {name}", times, "times", MOST_TIMES, "keys in turns"),
    ]


def opened(folder: Path, name: str) -> Foreign:
    """Another editor on the sample printed as text."""
    text = folder / "sample.txt"
    shown = subprocess.run([sys.executable, "-m", "tabterm", "show", SAMPLE], capture_output=True, check=True)
    text.write_bytes(shown.stdout)
    return settled(Foreign(command=[*OTHERS[name][0], str(text)], HOME=str(folder)))


MOST_TIMES = 8.0
"""How often the time of a cursor move in a plain editor ours may take, which shows so much more."""


def in_turns(*editors: Editor) -> float:
    """The median time of a cursor move in one editor as a multiple of that in another, so that load hits both."""
    times: list[list[float]] = [[] for _ in editors]
    for _ in range(ROUNDS // len(MOVES) + 1):
        for editor, found in zip(editors, times, strict=True):
            found += [one_key(editor, key)[0] for key in MOVES]
    one, other = map(statistics.median, times)
    return one / other


WALK = ("left", "left", "pagedown", "pageup")
WORK = ("5", "7", *WALK, "4", "6", *WALK)
"""Keys each of which changes what the status line says of the cursor's place; the frets are others each time."""

PAUSES_S = (0.1, 0.16, 0.18, 0.2, 0.3)
"""From one key to the next: into the search, into the findings that begin 0.17 s after a key, into the rest."""

ECHO_WITHIN_S, LATE_S = 5.0, 0.02
"""How long an echo is waited for that does not come in the pause, and how long each look for it takes."""


def echo_ms(editor: Editor, key: str, pause_s: float) -> float:
    """Milliseconds from a key to the last byte of the frame that shows it: the status line names another place.

    A byte of the playhead, or of what is proposed for an earlier key, does not pass for it. The emulator is slow,
    so it is shown what came, piece by piece, only when the time of each piece has been taken.
    """
    start, line, shown_s = time.monotonic(), editor.screen.display[0], None
    editor.type_bytes(key_bytes(key))
    wait_s = pause_s
    while shown_s is None and time.monotonic() < start + ECHO_WITHIN_S:
        for at, data in list(editor.pieces(wait_s)):
            editor.take(data)
            if shown_s is None and editor.screen.display[0] != line:
                shown_s = at
        wait_s = LATE_S
    assert shown_s is not None, f"nothing shows that '{key}' was typed"
    return (shown_s - start) * 1000


def under_work(folder: Path, recorder: Recorder) -> list[Figure]:
    """Key to echo with 1,000 measures, the hand worked out after each edit, and playback."""
    path = folder / "long.tabterm"
    path.write_bytes(native.write(long_score(1000)))
    editor = settled(Editor(path, "--look", "terminal"))
    try:
        editor.press("a", "f5")
        settled_s = time.monotonic() + 1.0
        while time.monotonic() < settled_s:
            editor.read(0.05, 0.2)
        heard = len(recorder.notes())
        times = sorted(
            echo_ms(editor, key, pause_s) for key, pause_s in zip(WORK * 25, cycle(PAUSES_S), strict=False)
        )
        heard = len(recorder.notes()) - heard
        editor.press("ctrl+s")
        assert editor.quit() == 0, "the editor did not live to the end"
    finally:
        editor.close()
    assert heard, "nothing was heard"
    note = f"{heard} notes heard, {len(times)} keys"
    name = "1,000 measures, playing, the hand worked out: key to echo, "
    return [
        Figure(name + "p50", statistics.median(times), "ms", None, note),
        Figure(name + "p99", times[int(len(times) * 0.99) - 1], "ms", 30, note),
    ]


def figures() -> Iterator[Figure]:
    """Ours, theirs, and ours under work."""
    os.environ.setdefault("XDG_STATE_HOME", tempfile.mkdtemp())
    server = start_server(f"tabterm-bench-{os.getpid()}")
    os.environ |= server.environment
    recorder = Recorder("bench")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        yield from ours(folder, recorder, "terminal")
        yield from ours(folder, recorder, "dark")
        yield from ours(folder, recorder, "terminal", 200, 50)
        for other in OTHERS:
            yield from theirs(folder, other)
        yield from under_work(folder, recorder)
    recorder.close()
    server.stop()
