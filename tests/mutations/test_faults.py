"""The faults themselves: each is a module that loads, is another one, and is found again by its name."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.mutations.__main__ import EACH, ROOMS, drawn
from tests.mutations.equivalent import EQUIVALENT
from tests.mutations.faults import KINDS, faults_of
from tests.mutations.reach import noted
from tests.mutations.trial import ROOT, nearest_files

SOURCE = b'''"""7 < 8"""
from __future__ import annotations
LIMIT: int = 3
def within(number: int, low: float = 0.0) -> bool:
    """Whether 1 < 2."""
    if not number and low + 1 > LIMIT:
        raise ValueError(f"{number + 1} is too much")
    return low <= number < LIMIT
'''


@pytest.fixture
def module(tmp_path):
    path = tmp_path / "tabterm" / "score" / "within.py"
    path.parent.mkdir(parents=True)
    path.write_bytes(SOURCE)
    return path


def test_places_of_a_module(module, tmp_path):
    found = faults_of(tmp_path, module)
    assert [(fault.kind, fault.name.partition(": ")[2], fault.at_import) for fault in found] == [
        ("constant", "3 -> 4", True),
        ("constant", "0.0 -> 1.0", True),
        ("boolean", "not number and low + 1 > LIMIT -> not number or low + 1 > LIMIT", False),
        ("boolean", "not number -> number", False),
        ("comparison", "low + 1 > LIMIT -> low + 1 >= LIMIT", False),
        ("arithmetic", "low + 1 -> low - 1", False),
        ("constant", "1 -> 2", False),
        ("return", "return low <= number < LIMIT -> None", False),
        ("comparison", "low <= number < LIMIT -> low < number < LIMIT", False),
    ]
    assert {fault.room for fault in found} == {"score"}


def test_a_fault_changes_its_place_alone(module, tmp_path):
    for fault in faults_of(tmp_path, module):
        faulty = fault.put_into(SOURCE)
        ast.parse(faulty)
        assert faulty != SOURCE
        assert faulty.startswith(SOURCE[: fault.start])
        assert faulty.endswith(SOURCE[fault.end :])


def test_taking_notes_changes_nothing(module, tmp_path, monkeypatch):
    taken = []
    (tmp_path / "_reached.py").write_text("def at(number): taken.append(number)")
    monkeypatch.syspath_prepend(tmp_path)
    __import__("_reached").taken = taken
    names = {}
    faults = faults_of(tmp_path, module)
    exec(compile(noted(SOURCE, enumerate(faults)), "within", "exec"), names)
    del taken[:]
    assert names["within"](2)
    assert not names["within"](3)
    assert {faults[number].kind for number in taken} == {"boolean", "comparison", "return"}


def test_sixty_are_drawn_and_what_changes_nothing_is_not():
    faults = drawn(1)
    assert len(faults) == len(ROOMS) * len(KINDS) * EACH == 60
    modules = {ROOT / name.partition(" ")[0] for name in EQUIVALENT}
    names = {fault.name for module in modules for fault in faults_of(ROOT, module)}
    assert set(EQUIVALENT) <= names, "no longer there: " + ", ".join(set(EQUIVALENT) - names)
    assert not {fault.name for fault in faults} & set(EQUIVALENT)


def test_the_tests_nearest_to_a_module_come_first():
    files = nearest_files(ROOT, "tabterm/score/comparison.py")
    assert files[0] == "tests/score/test_comparison.py"
    assert all(Path(file).parts[1] == "score" for file in files[-5:])
    assert nearest_files(ROOT, "tabterm/workspace/commands/selecting.py")[0] == "tests/tui/test_editor.py"
