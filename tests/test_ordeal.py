"""The short form of `python -m tests.ordeal`."""

from __future__ import annotations

import importlib
import subprocess
import sys

import pytest

from tests.thorough import many


@pytest.mark.parametrize(("part", "few", "more"), [("disks", 40, 400), ("mutations", 40, 400), ("plants", 1, 1)])
def test_the_ordeal_is_survived(part, few, more):
    outcome = importlib.import_module(f"tests.ordeal.{part}").run(many(few, more))
    assert outcome.faults == []
    assert outcome.counts


@pytest.mark.timeout(300)
def test_kills_lose_no_acknowledged_edit():
    """In a process of its own, since a process with threads should not fork."""
    scale = str(many(8, 40) / 1000)
    words = [sys.executable, "-m", "tests.ordeal", "kills", "--scale", scale]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "faults 0" in done.stdout
