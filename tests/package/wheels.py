"""Whether everything installs from wheels alone, on every interpreter and machine that the metadata name.

    python -m tests.package.wheels

asks the registry, by uv (extra `release`), and prints a table: how many packages each extra takes, which part of
the program a marker leaves out, and which of those could come back since there are wheels of it now. The exit
status is 1 where something has no wheel. Nothing is installed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

from tests.package.targets import EXTRAS, PARTS, TARGETS, Target, left_out, wanted

if TYPE_CHECKING:
    from packaging.requirements import Requirement

LONGEST_S = 120
"""For one question."""

AT_ONCE = 4
"""Questions."""


def uv() -> str:
    """The program; raises SystemExit where it is not installed."""
    beside = Path(sys.executable).with_name("uv")
    found = str(beside) if beside.exists() else shutil.which("uv")
    if found is None:
        raise SystemExit("uv is not installed: pip install -e '.[release]'")
    return found


def resolved(target: Target, asked: list[Requirement]) -> tuple[list[str], str]:
    """The packages with their versions, all of them wheels; or none, and what uv says."""
    command = [uv(), "pip", "compile", "-", "-q", "--no-header", "--no-annotate", "--only-binary", ":all:"]
    command += ["--python-platform", target.platform.uv, "--python-version", target.python]
    texts = "\n".join(f"{each.name}{each.specifier}" for each in asked)
    done = subprocess.run(
        command,
        input=texts,
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=False,
        env={**os.environ, "UV_NO_PROGRESS": "1"},
    )
    return done.stdout.split(), "" if done.returncode == 0 else " ".join(done.stderr.split())


def row(target: Target) -> tuple[str, list[str]]:
    """The line of a target in the table, and what has no wheel there."""
    cells, missing = [], []
    for extra in EXTRAS:
        packages, fault = resolved(target, wanted(target, extra))
        cells.append("no" if fault else str(len(packages)))
        if fault:
            missing.append(f"{target.platform.name}, Python {target.python}, {extra or 'bare'}: {fault}")
    absent = left_out(target, "full")
    parts = dict.fromkeys(PARTS.get(each.name, each.name) for each in absent)
    back = [each.name for each in absent if not resolved(target, [each])[1]]
    cells.append(", ".join(parts) + (f" (there are wheels of {', '.join(back)})" if back else ""))
    return f"| {target.platform.name} | {target.python} | {' | '.join(cells)} |", missing


def main() -> int:
    """Print the table; 1 where something is missing."""
    print(f"| machine | Python | {' | '.join(each or 'bare' for each in EXTRAS)} | left out |")
    print(f"|---|---|{'---|' * (len(EXTRAS) + 1)}")
    missing: list[str] = []
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for line, faults in pool.map(row, TARGETS):
            print(line, flush=True)
            missing += faults
    print("\n".join(["", *missing]) if missing else "\nEverything installs from wheels.")
    return int(bool(missing))


if __name__ == "__main__":
    sys.exit(main())
