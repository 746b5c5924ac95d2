"""SIGKILL at random moments of random work: what was acknowledged is there again, and the file is whole."""

from __future__ import annotations

import os
import random
import signal
import tempfile
import time
from pathlib import Path

from tabterm.formats import native
from tests.ordeal.outcome import Outcome
from tests.ordeal.work import opened, steps

LONGEST_S = 0.12


def run(count: int, seed: int = 1) -> Outcome:
    """Kill so many processes; each is a fork, so that it is at work at once."""
    outcome, draw = Outcome("kills"), random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        for number in range(count):
            path = Path(folder) / f"{number}.tabterm"
            acknowledged = _killed(path, seed + number, draw.random() * LONGEST_S)
            outcome.count("kills")
            outcome.count("edits acknowledged", acknowledged)
            if path.exists():
                native.read(path.read_bytes())
            _check(path, Path(folder) / f"model-{number}.tabterm", seed + number, acknowledged, outcome)
    return outcome


def _killed(path: Path, seed: int, after_s: float) -> int:
    """How many steps a process acknowledged that was killed some time after it had opened the document."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            document = opened(path)
            os.write(writing, b"r")
            for _ in steps(document, seed):
                os.write(writing, b".")
        finally:
            os._exit(1)
    os.close(writing)
    os.read(reading, 1)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    told = 0
    while data := os.read(reading, 65536):
        told += len(data)
    os.close(reading)
    return told


def _check(path: Path, model: Path, seed: int, acknowledged: int, outcome: Outcome) -> None:
    found = opened(path)
    document = opened(model)
    states = [document.score]
    for step, _ in enumerate(steps(document, seed)):
        states.append(document.score)
        if step > acknowledged:
            break
    if found.score not in states[acknowledged : acknowledged + 3]:
        outcome.faults.append(f"seed {seed}: {acknowledged} steps acknowledged, lost")
    found.close(keep_draft=False)
    document.close(keep_draft=False)
