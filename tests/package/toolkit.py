"""Whether the newest release of the toolkit would do, though pyproject.toml holds to one.

    python -m tests.package.toolkit [RELEASE]

makes an environment of its own by uv (extra `release`) with what the tests need and that release, and runs what
is relied on (`tests/tui/test_relied_on.py`), the layer on the terminal, and the editor. It says what broke; the
exit status is 1 where something did.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.package.targets import ROOT
from tests.package.wheels import uv

STEPS = {
    "what is relied on": ("test_relied_on", "test_private_parts"),
    "the layer on the terminal": ("test_wire", "test_keyboard", "test_streams", "test_first", "test_painting"),
    "the editor": ("test_editor", "test_panels", "test_resizing", "test_systems", "test_upkeep"),
}
"""Modules of `tests/tui`, the quickest to tell first."""

LONGEST_S = 500
"""For a step."""


def environment(folder: Path, release: str) -> tuple[Path, str]:
    """An interpreter with the tests' packages and that release (the newest without one), and which it is."""
    python, override = folder / ".venv" / "bin" / "python", folder / "override.txt"
    override.write_text(f"textual=={release}\n" if release else "textual>=0\n", encoding="utf-8")
    subprocess.run([uv(), "venv", "-q", "--python", sys.executable, folder / ".venv"], check=True)
    install = [uv(), "pip", "install", "-q", "--python", python, "--override", override, "-e", f"{ROOT}[dev]"]
    subprocess.run(install, check=True)
    asked = [python, "-c", "from importlib.metadata import version; print(version('textual'))"]
    return python, subprocess.run(asked, check=True, capture_output=True, text=True).stdout.strip()


def broken(python: Path, modules: tuple[str, ...]) -> list[str]:
    """The tests that fail, or why they do not end."""
    paths = [f"tests/tui/{module}.py" for module in modules]
    command = [python, "-m", "pytest", "-q", "--no-header", "-p", "no:cacheprovider", "-n", "2", *paths]
    variables = {name: value for name, value in os.environ.items() if name not in {"VIRTUAL_ENV", "PYTHONPATH"}}
    try:
        done = subprocess.run(
            command, cwd=ROOT, env=variables, capture_output=True, text=True, timeout=LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        return [f"not done after {LONGEST_S} s"]
    failed = re.findall(r"^(?:FAILED|ERROR) (\S+)", done.stdout, re.MULTILINE)
    return failed or ([done.stdout[-2000:]] if done.returncode else [])


def main() -> int:
    """Print each step; 1 where a test fails."""
    release = sys.argv[1] if len(sys.argv) > 1 else ""
    with tempfile.TemporaryDirectory() as folder:
        python, found = environment(Path(folder), release)
        print(f"textual {found}", flush=True)
        status = 0
        for step, modules in STEPS.items():
            faults = broken(python, modules)
            print(f"{step}: {'holds' if not faults else 'broken'}", *faults, sep="\n  ", flush=True)
            status |= bool(faults)
    return status


if __name__ == "__main__":
    sys.exit(main())
