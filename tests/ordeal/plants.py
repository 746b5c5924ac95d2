"""Links, pipes, folders, sockets and files of others planted in the place of every file of ours."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from tabterm.errors import TabtermError
from tabterm.hand.learning import Lesson
from tabterm.piece import configuration, practice, practice_log
from tabterm.piece.player import keep_learnt, learnt_file
from tabterm.sound.remote.handshake import make_token, near_token
from tabterm.storage import names
from tests.ordeal.outcome import Outcome
from tests.ordeal.work import let_go, opened, steps
from tests.piece.test_practice_log import ENTRY
from tests.storage.planting import PLANTS, give_away, unharmed

BESIDE = ("journal", "lock", "practice")
OWN = {
    "configuration": (configuration.path, configuration.load),
    "practice log": (practice_log.path, lambda: practice_log.PracticeLog().add(ENTRY)),
    "what was learnt": (learnt_file, lambda: keep_learnt([Lesson(0.8, {"leave": -1.0}, 5.0)])),
    "caution shown": (practice.caution_file, practice.caution_due),
    "listener's token": (near_token, lambda: make_token(near_token())),
}


def run(count: int, seed: int = 1) -> Outcome:
    """Each plant in each place, `count` times with other work."""
    outcome = Outcome("planted files")
    for number in range(count):
        for plant in (*PLANTS, "foreign file"):
            for role in (*BESIDE, *OWN):
                with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
                    root = Path(folder).resolve()
                    for kind in ("CONFIG", "STATE", "CACHE", "DATA"):
                        patch.setenv(f"XDG_{kind}_HOME", str(root / kind))
                    _planted(root, plant, role, seed + number, patch, outcome)
                    outcome.count("plants")
    return outcome


def _planted(root: Path, plant: str, role: str, seed: int, patch: pytest.MonkeyPatch, outcome: Outcome) -> None:
    path = root / "a.tabterm"
    place = names.beside(path, role) if role in BESIDE else OWN[role][0]()
    place.parent.mkdir(parents=True, exist_ok=True)
    if plant == "foreign file":
        place.write_bytes(b"theirs")
        give_away(patch, place)
    else:
        PLANTS[plant](place)
    try:
        if role in BESIDE:
            _work(path, seed, f"{plant} as {role}", outcome)
        else:
            OWN[role][1]()
    except TabtermError as error:
        if "\n" in str(error):
            outcome.faults.append(f"{plant} as {role}: more than a line")
    except OSError as error:
        outcome.faults.append(f"{plant} as {role}: {error}")
    # what was learnt goes through a link that the user has made, as the configuration does
    if not unharmed(place) and role not in {"configuration", "what was learnt"}:
        outcome.faults.append(f"{plant} as {role}: harmed")


def _work(path: Path, seed: int, said: str, outcome: Outcome) -> None:
    document = opened(path)
    work = steps(document, seed)
    for _ in range(6):
        next(work)
    wanted = document.score
    if not document.keeps_draft:
        outcome.faults.append(f"{said}: no journal")
    let_go(document)
    again = opened(path)
    if again.score != wanted:
        outcome.faults.append(f"{said}: lost")
    again.close(keep_draft=False)
