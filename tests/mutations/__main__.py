"""Put sixty small faults into a copy of the program, one at a time, and say which of them a test sees.

First the tests of each room are run once, to see which come by which fault; then only those are run with it.
"""

from __future__ import annotations

import argparse
import json
import signal
import tempfile
from collections import Counter
from pathlib import Path

from tests.mutations.equivalent import EQUIVALENT
from tests.mutations.faults import KINDS, Fault, faults_of
from tests.mutations.reach import reached
from tests.mutations.trial import ROOT, Outcome, Trial

ROOMS = ("hand", "harmony", "performance", "sound", "score", "workspace")
EACH = 2
"""Faults of each kind in each room."""

GOAL = 57


def drawn(seed: int) -> list[Fault]:
    """The faults of a seed: so many of each kind in each room, without those that change nothing."""
    chosen: list[Fault] = []
    for room in ROOMS:
        modules = sorted((ROOT / "tabterm" / room).rglob("*.py"))
        every = [fault for module in modules for fault in faults_of(ROOT, module) if fault.name not in EQUIVALENT]
        for kind in KINDS:
            of_kind = sorted((each for each in every if each.kind == kind), key=lambda each: each.order(seed))
            chosen += of_kind[:EACH]
    return chosen


def main() -> None:
    """Read the words, draw, try and say."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutations", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="which sixty are drawn (1)")
    parser.add_argument("--only", default="", help="numbers of the faults to try, with commas between")
    parser.add_argument("--room", choices=ROOMS, help="try the faults of one room")
    parser.add_argument("--most", type=float, default=240.0, help="seconds for one fault (240)")
    parser.add_argument("--reached", type=Path, help="file that keeps which tests come by which fault")
    parser.add_argument("--list", action="store_true", help="name the faults, try none")
    words = parser.parse_args()
    numbered = list(enumerate(drawn(words.seed), 1))
    only = {int(number) for number in words.only.split(",") if number}
    numbered = [
        (number, fault)
        for number, fault in numbered
        if (not only or number in only) and words.room in {None, fault.room}
    ]
    if words.list:
        for number, fault in numbered:
            print(f"{number:>3} {fault.kind:<11}{fault.name} (line {fault.line})")
        return
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # the copies and what runs there go, too
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder:
        trial = Trial(Path(folder), most_s=words.most)
        trial.prepare()
        tests = _tests_by(trial, numbered, words.reached)
        outcomes = [_told(number, trial.of(fault, tests.get(fault.name, []))) for number, fault in numbered]
    caught = Counter(bool(outcome.by) for outcome in outcomes)[True]
    print(f"{caught} of {len(outcomes)} caught; the goal is {GOAL} of 60")


def _tests_by(trial: Trial, numbered: list[tuple[int, Fault]], file: Path | None) -> dict[str, list[str]]:
    """The tests that come by each fault, by its name; what the file knows is not looked for again."""
    known = json.loads(file.read_text(encoding="utf-8")) if file is not None and file.exists() else {}
    new = [(number, fault) for number, fault in numbered if not fault.at_import and fault.name not in known]
    if new:
        names = {number: fault.name for number, fault in new}
        known |= {names[number]: tests for number, tests in reached(trial, new).items()}
    if file is not None:
        file.write_text(json.dumps(known, indent=1), encoding="utf-8")
    return known


def _told(number: int, outcome: Outcome) -> Outcome:
    by = f"caught by {outcome.by}" if outcome.by else f"NOT CAUGHT {outcome.note}"
    print(
        f"{number:>3} {outcome.fault.name} (line {outcome.fault.line})\n    {by}, {outcome.seconds:.0f} s",
        flush=True,
    )
    return outcome


if __name__ == "__main__":
    main()
