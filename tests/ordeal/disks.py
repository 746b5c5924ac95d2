"""Random histories on a disk that fails on purpose, ended by a kill or a power cut."""

from __future__ import annotations

import os
import random
import tempfile
from pathlib import Path
from unittest import mock

from tabterm.workspace import drafts
from tests.ordeal.disk import Disk
from tests.ordeal.outcome import Outcome
from tests.ordeal.work import let_go, opened, steps

LONGEST = 40
"""Steps of a history."""

MOST_FAULTS = 0.15


def run(count: int, seed: int = 1) -> Outcome:
    """So many histories; what was acknowledged as kept must be there again on a sound disk."""
    outcome = Outcome("failing disks")
    with tempfile.TemporaryDirectory() as folder, mock.patch("tabterm.storage.appending.QUICK_S", 100):
        for number in range(count):
            _history(Path(folder).resolve() / str(number), seed + number, outcome)
    return outcome


def _history(root: Path, seed: int, outcome: Outcome) -> None:
    draw = random.Random(seed)
    (root / "tunes").mkdir(parents=True)
    state = root / "state"
    (state / "tabterm" / "journals").mkdir(parents=True)
    path = root / "tunes" / "a.tabterm"
    disk = Disk(root, draw, draw.choice([0.0, 0.01, 0.05, MOST_FAULTS]))
    with mock.patch.dict(os.environ, {"XDG_STATE_HOME": str(state)}), disk.mounted():
        document = opened(path)
        states, kept = [document.score], 0 if document.keeps_draft else -1
        for _ in range(draw.randint(1, LONGEST)):
            next(steps(document, draw.randrange(1 << 30)))
            outcome.count("steps")
            states.append(document.score)
            if document.keeps_draft:
                kept = len(states) - 1
        let_go(document)
        faults, disk.faults = disk.faults, 0.0
        power = draw.random() < 0.5
        if power:
            disk.cut_power()
        found = opened(path)
        if kept >= 0 and found.score not in states[kept:]:
            offered = [draft.rebuilt() for draft in drafts.kept_aside(path)]
            if any(each in states[kept:] for each in offered):
                outcome.count("offered by recover")
                found.close(keep_draft=False)
                return
            outcome.faults.append(f"seed {seed}: {'power cut' if power else 'kill'}, faults {faults}: lost")
        found.close(keep_draft=False)
    outcome.count("power cuts" if power else "kills")
    outcome.count("refused calls", disk.refused)
    disk.close()
