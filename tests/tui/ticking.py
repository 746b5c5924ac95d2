"""The editor with a pulse: run as a program, it writes the time of each tick of its event loop to a file.

`python -m tests.tui.ticking PULSE FILE ...` opens FILE as `tabterm FILE ...` does.
"""

from __future__ import annotations

import asyncio
import sys
import time
from itertools import pairwise
from pathlib import Path

EVERY_S = 0.1


def main(pulse: str, *arguments: str) -> int:
    """Open the editor; its loop is asked to write the time every tenth of a second."""
    from tabterm.cli.main import main as tabterm
    from tabterm.tui.app import TabtermApp

    file = Path(pulse).open("w", buffering=1, encoding="ascii")  # noqa: SIM115 - open as long as the process
    begin = TabtermApp.on_mount

    def on_mount(app: TabtermApp) -> None:
        begin(app)
        tick(asyncio.get_running_loop().time())

    def tick(due_s: float) -> None:
        file.write(f"{time.monotonic()}\n")
        loop = asyncio.get_running_loop()
        loop.call_at(due_s + EVERY_S, tick, due_s + EVERY_S)

    TabtermApp.on_mount = on_mount
    return tabterm(arguments)


def ticks(pulse: Path, start_s: float, seconds: float) -> tuple[int, float]:
    """How many ticks there were from a time on for some seconds, and the longest time without one."""
    times = [float(line) for line in pulse.read_text(encoding="ascii").splitlines()]
    inside = [each for each in times if start_s <= each < start_s + seconds]
    return len(inside), max(later - earlier for earlier, later in pairwise(inside))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
