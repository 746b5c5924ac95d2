"""What would be published: a source archive that passes its own tests, and the wheel that is made of it.

    python -m tests.package.built [--all]

builds both by uv (extra `release`), says how large they are, makes the wheel from the archive and from the tree
and compares them byte by byte, unpacks the archive into a folder of its own, installs it there with what its tests
need, and runs some of them, or all. The exit status is 1 where something differs or fails.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from pathlib import Path

from tests.package.targets import ROOT
from tests.package.wheels import uv

QUICK = (
    "tests/score",
    "tests/package",
    "tests/piece/test_tunes.py",
    "tests/cli/test_start.py",
    "tests/test_docs.py",
)
"""Tests that see whether what they need is in the archive, in a minute or two."""

MOST_BYTES = 8_000_000
"""Of an archive or a wheel."""


def copied(into: Path) -> Path:
    """The files of the tree that git knows, so that building leaves nothing in it."""
    names = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True).stdout.decode()
    for name in filter(None, names.split("\0")):
        target = into / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, target, follow_symlinks=False)
    return into


def built(kind: str, source: Path, into: Path) -> Path:
    """Have one built, and where it is."""
    subprocess.run([uv(), "build", "-q", f"--{kind}", "--out-dir", into, source], check=True)
    (found,) = [each for each in into.iterdir() if each.suffix in {".gz", ".whl"}]
    return found


def content(wheel: Path) -> dict[str, bytes]:
    """The files of a wheel, but the list of them."""
    with zipfile.ZipFile(wheel) as archive:
        return {name: archive.read(name) for name in archive.namelist() if not name.endswith("/RECORD")}


def differing(one: Path, other: Path) -> list[str]:
    """Files that only one of two wheels has, or that differ."""
    left, right = content(one), content(other)
    return sorted(name for name in left.keys() | right.keys() if left.get(name) != right.get(name))


def tested(tree: Path, tests: tuple[str, ...]) -> int:
    """Install an unpacked archive with what its tests need, and run them; their exit status."""
    python = tree / ".venv" / "bin" / "python"
    subprocess.run([uv(), "venv", "-q", "--python", sys.executable, tree / ".venv"], check=True)
    subprocess.run([uv(), "pip", "install", "-q", "--python", python, "-e", f"{tree}[dev]"], check=True)
    variables = {name: value for name, value in os.environ.items() if name not in {"VIRTUAL_ENV", "PYTHONPATH"}}
    return subprocess.run([python, "-m", "pytest", "-q", *tests], cwd=tree, env=variables, check=False).returncode


def main() -> int:
    """Build, compare and test; 1 where something is wrong."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--all", action="store_true", help="run all tests of the archive")
    parser.add_argument("--no-tests", action="store_true", help="build and compare alone")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder)
        source = copied(room / "source")
        archive, wheel = built("sdist", source, room / "sdist"), built("wheel", source, room / "wheel")
        for each in (archive, wheel):
            print(f"{each.name}: {each.stat().st_size:,} bytes")
            assert each.stat().st_size < MOST_BYTES
        with tarfile.open(archive) as packed:
            packed.extractall(room, filter="data")
        (tree,) = room.glob("tabterm-*")
        again = built("wheel", tree, room / "again")
        names = differing(wheel, again)
        print("\n".join(f"differs: {name}" for name in names) or "the wheel of the archive is that of the tree")
        status = 0 if arguments.no_tests else tested(tree, () if arguments.all else QUICK)
    return int(bool(names) or status != 0)


if __name__ == "__main__":
    sys.exit(main())
