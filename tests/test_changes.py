"""The changes of the next version: a file each, in words for a user, that become a part of CHANGELOG.md."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tabterm import __version__

pytest.importorskip("towncrier", reason="towncrier is not installed")

ROOT = Path(__file__).parents[1]
FRAGMENTS = sorted((ROOT / "changelog.d").glob("*.md"))
TYPES = [
    each["directory"]
    for each in tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["towncrier"]["type"]
]


@pytest.mark.parametrize("path", FRAGMENTS, ids=lambda path: path.stem)
def test_a_change_is_named_and_short(path):
    name = re.fullmatch(r"\+[a-z0-9-]+\.([a-z]+)\.md", path.name)
    assert name, "name it +WHAT.KIND.md"
    assert name[1] in TYPES
    text = path.read_text(encoding="utf-8")
    assert text.rstrip("\n").endswith((".", ")"))
    assert len(text) <= 600


def test_they_become_the_part_of_this_version():
    words = [sys.executable, "-m", "towncrier", "build", "--draft", "--date", "2026-01-01"]
    made = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True).stdout
    assert f"## {__version__} (2026-01-01)" in made
    plain = " ".join(made.split())
    assert [path.name for path in FRAGMENTS if " ".join(path.read_text().split()) not in plain] == []


def test_the_version_stands_in_one_place():
    """No other file of the program or of its metadata has it in writing."""
    quoted = re.compile(rf"""["']{re.escape(__version__)}["']""")
    places = [
        path for path in (*ROOT.glob("*.toml"), *ROOT.glob("tabterm/**/*.py")) if quoted.search(path.read_text())
    ]
    assert [path.relative_to(ROOT).as_posix() for path in places] == ["tabterm/version.py"]
