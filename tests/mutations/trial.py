"""Runs tests in a copy of the tree, with and without a fault."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.mutations.faults import Fault

ROOT = Path(__file__).parents[2]

PARTS = ("tabterm", "tests", "docs", "samples", "pyproject.toml", "README.md", "DEVELOPERS.md")
"""What the tests need of the tree."""

ELSEWHERE = ("bench", "end_to_end", "lines", "mutations")
"""Folders of tests that start whole programs: too slow to be run for one fault."""

MOST_FILES = 12
"""Files of tests that are run for a place that is come by at import; the nearest to the module."""

FIRST, MOST_TESTS = 8, 120
"""Tests or files that are run first, before others are so much as loaded, and at most."""

GRACE_S = 20.0
"""Seconds that a run has to take down what it has set up."""

PYTEST = """
import signal, sys, pytest
signal.signal(signal.SIGINT, signal.default_int_handler)
sys.exit(pytest.main(sys.argv[1:]))
"""
"""Pytest that can be interrupted, also where whoever started it cannot be (in the background of a shell)."""

TIMED = ("sound", "workspace")
"""Rooms with tests that wait for processes."""


@dataclass(frozen=True)
class Outcome:
    """What came of one fault: the test that failed (empty where none did), and how long it took."""

    fault: Fault
    by: str
    seconds: float
    note: str = ""


@dataclass(frozen=True)
class Trial:
    """Two copies of the tree in a temporary folder: one for faults, one that stays as it is.

    Attributes:
        folder: Where the copies are.
        most_s: Seconds that all runs for one fault may take.
        test_s: Seconds that one test may take.
    """

    folder: Path
    most_s: float = 240.0
    test_s: int = 60

    def prepare(self) -> None:
        """Copy what the tests need."""
        for name in ("faulty", "clean"):
            for part in PARTS:
                source, target = ROOT / part, self.folder / name / part
                if source.is_dir():
                    shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
                else:
                    target.parent.mkdir(exist_ok=True)
                    shutil.copy(source, target)

    def of(self, fault: Fault, tests: Sequence[str]) -> Outcome:
        """Put a fault in, run tests until one fails, and take it out again.

        A test that fails without the fault as well proves nothing: the run goes on without it.
        """
        started = time.monotonic()
        module = self.folder / "faulty" / fault.module
        sound = module.read_bytes()
        self.write(module, fault.put_into(sound))
        tests = [test for test in tests if self._is_there(test)]
        if fault.at_import or not tests:
            tests = nearest_files(self.folder / "faulty", fault.module)[:MOST_FILES]
        left_out: list[str] = []
        try:
            for chosen in (tests[:FIRST], tests[FIRST:MOST_TESTS]):
                while chosen:
                    failed = self._first_failure(chosen, self.most_s - (time.monotonic() - started), left_out)
                    if not failed:
                        break
                    if self._is_proof(fault, failed):
                        return Outcome(fault, failed, time.monotonic() - started)
                    left_out.append(failed)
            note = f"; these fail anyhow: {', '.join(left_out)}" if left_out else ""
            spent_s = time.monotonic() - started
            note += f"; out of time ({self.most_s:.0f} s)" if spent_s > self.most_s else ""
            return Outcome(fault, "", spent_s, f"by {len(tests)} tests{note}")
        finally:
            self.write(module, sound)

    def _is_there(self, test: str) -> bool:
        """Whether a test that was noted once is still in its file: where one is missing pytest runs none."""
        file, _, name = test.partition("::")
        path = self.folder / "faulty" / file
        return path.exists() and f"def {name}(" in path.read_text(encoding="utf-8")

    @staticmethod
    def write(module: Path, source: bytes) -> None:
        """Write a module and forget what it was compiled to: within a second its date says nothing."""
        module.write_bytes(source)
        shutil.rmtree(module.parent / "__pycache__", ignore_errors=True)

    def _first_failure(self, tests: Sequence[str], most_s: float, left_out: Sequence[str]) -> str:
        """The first test that fails, the file where collection does, or nothing."""
        told = self.run("faulty", ["-x", *(f"--deselect={each}" for each in left_out), *tests], most_s)
        found = re.search(r"^(?:FAILED|ERROR) (.+?)(?: - .*)?$", told, re.MULTILINE)
        return found.group(1) if found else ""

    def _is_proof(self, fault: Fault, test: str) -> bool:
        """Whether a test that failed passes without the fault; asked where tests keep time, which may be short."""
        if fault.room not in TIMED or "::" not in test:
            return True
        told = self.run("clean", [test.partition("[")[0]], 120.0)
        return not re.search(r"^(?:FAILED|ERROR) ", told, re.MULTILINE)

    def run(self, tree: str, words: Sequence[str], most_s: float) -> str:
        """Run pytest in a copy, and end all that it started; what it printed, or nothing where it took too long.

        Hypothesis draws the same examples with a fault and without.
        """
        usual = ("-q", "-n", "0", "-p", "no:cacheprovider", f"--timeout={self.test_s}", "--hypothesis-profile=ci")
        run = subprocess.Popen(
            [sys.executable, "-c", PYTEST, *usual, *words],
            cwd=self.folder / tree,
            env=os.environ | {"PYTHONPATH": str(self.folder / tree)},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        try:
            return run.communicate(timeout=max(most_s, 1.0))[0]
        except subprocess.TimeoutExpired:
            return ""
        finally:
            _end(run)


def _end(run: subprocess.Popen[str]) -> None:
    """End a run, in order if it can: some of what tests start is in a session of its own and is ended by them."""
    if run.poll() is None:
        run.send_signal(signal.SIGINT)
        with suppress(subprocess.TimeoutExpired):
            run.communicate(timeout=GRACE_S)
    try:
        os.killpg(run.pid, signal.SIGKILL)
    except ProcessLookupError:
        return
    finally:
        run.wait()


def nearest_files(tree: Path, module: str) -> list[str]:
    """Files of tests: named like the module, importing it, of its room (for commands, the editor)."""
    path = Path(module)
    room, name = path.parts[1], path.stem if path.stem != "__init__" else path.parent.name
    dotted = ".".join(path.with_suffix("").parts).removesuffix(".__init__")
    package = re.escape(dotted.rpartition(".")[0])
    importing = re.compile(rf"\b{re.escape(dotted)}\b|from {package} import .*\b{name}\b")

    folders = {room, "tui"} if "commands" in path.parts else {room}

    def rank(file: Path) -> int | None:
        here = bool(folders & set(file.relative_to(tree).parts))
        if here and file.stem == f"test_{name}":
            return 0
        if importing.search(file.read_text(encoding="utf-8")):
            return 1 if here else 2
        return 3 if here else None

    files = [each for each in (tree / "tests").rglob("test_*.py") if not set(ELSEWHERE) & set(each.parts[-3:-1])]
    ranked = sorted((number, each) for each in files if (number := rank(each)) is not None)
    found = [each.relative_to(tree).as_posix() for _, each in ranked]
    return sorted(found, key=lambda file: "tests/tui/test_editor" not in file) if len(folders) > 1 else found
