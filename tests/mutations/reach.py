"""Which tests come by a place: one run of a room's tests with a note taken at each place."""

from __future__ import annotations

from collections import defaultdict
from itertools import groupby
from typing import TYPE_CHECKING

from tests.mutations.trial import ELSEWHERE, nearest_files

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tests.mutations.faults import Fault
    from tests.mutations.trial import Trial

NOTES = "reached.txt"
MOST_S = 600.0
"""Seconds that the tests of a room may take."""

TAKER = f"""
import os, pathlib
seen = set()
def at(number):
    test = os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0].partition("[")[0]
    if test and (number, test) not in seen:
        seen.add((number, test))
        with (pathlib.Path(__file__).parent / "{NOTES}").open("a") as notes:
            notes.write(f"{{number}} {{test}}\\n")
"""
"""The module of the copied tree that is called at each place; subprocesses of a test come by it as well."""


def reached(trial: Trial, numbered: Sequence[tuple[int, Fault]]) -> dict[int, list[str]]:
    """The tests that come by each fault, those in files nearest to its module first; none at import time."""
    tree = trial.folder / "faulty"
    (tree / "_reached.py").write_text(TAKER, encoding="utf-8")
    sources = {}
    for module, group in groupby(
        sorted(numbered, key=lambda each: each[1].module), key=lambda each: each[1].module
    ):
        path = tree / module
        sources[path] = path.read_bytes()
        trial.write(path, noted(sources[path], list(group)))
    for room in sorted({fault.room for _, fault in numbered}):
        files = [each.relative_to(tree).as_posix() for each in (tree / "tests" / room).rglob("test_*.py")]
        trial.run("faulty", sorted(files), MOST_S)
    for path, source in sources.items():
        trial.write(path, source)
    notes = (tree / NOTES).read_text(encoding="utf-8").splitlines() if (tree / NOTES).exists() else []
    found: dict[int, set[str]] = defaultdict(set)
    for number, test in (note.split(" ", 1) for note in notes):
        found[int(number)].add(test)
    return {number: _nearest_first(nearest_files(tree, fault.module), found[number]) for number, fault in numbered}


def noted(source: bytes, numbered: Iterable[tuple[int, Fault]]) -> bytes:
    """A module that takes a note at each place; of places within each other the outer one opens first."""
    marks: list[tuple[int, int, int, bytes]] = []
    for number, fault in numbered:
        opening = f'(__import__("_reached").at({number}), ('.encode()
        marks += [(fault.start, 1, -fault.end, opening), (fault.end, 0, -fault.start, b"))[1]")]
    for at, _, _, text in sorted(marks, reverse=True):
        source = source[:at] + text + source[at:]
    return source


def _nearest_first(files: list[str], tests: Iterable[str]) -> list[str]:
    place = {file: number for number, file in enumerate(files)}
    wanted = [test for test in tests if not set(ELSEWHERE) & set(test.split("/"))]
    return sorted(wanted, key=lambda test: (place.get(test.partition("::")[0], len(files)), test))
