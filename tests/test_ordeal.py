"""The short form of `python -m tests.ordeal`."""

from __future__ import annotations

import importlib

import pytest


@pytest.mark.parametrize(("part", "count"), [("kills", 8), ("disks", 40), ("mutations", 40), ("plants", 1)])
def test_the_ordeal_is_survived(part, count):
    outcome = importlib.import_module(f"tests.ordeal.{part}").run(count)
    assert outcome.faults == []
    assert outcome.counts
