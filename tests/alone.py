"""Runs each test file in a process of its own, its tests in an order of chance, beside busy loops if wanted.

`python -m tests.alone [--shuffle SEED] [--busy LOOPS] [PATH ...]` prints the seed that repeats it, a line for each
file, and what failed in it; the exit status is the number of files that failed, at most 100.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

LOOP = "while True: pass"
PASSED, NOTHING_COLLECTED = 0, 5
"""Exit statuses of pytest."""


def files_of(paths: list[Path]) -> list[Path]:
    """The test files in some folders, and the files that are named."""
    found = [sorted(path.rglob("test_*.py")) if path.is_dir() else [path] for path in paths]
    return [file for files in found for file in files]


@contextmanager
def busy_loop() -> Iterator[None]:
    """A process that takes a core."""
    process = subprocess.Popen([sys.executable, "-c", LOOP])
    try:
        yield
    finally:
        process.kill()
        process.wait()


def passes(file: Path, seed: int) -> bool:
    """Whether a file passes alone; what fails is printed."""
    begun = time.monotonic()
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-n",
        "0",
        "-p",
        "no:cacheprovider",
        f"--shuffle={seed}",
        str(file),
    ]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    passed = result.returncode in {PASSED, NOTHING_COLLECTED}
    print(f"{'passed' if passed else 'FAILED'} {file} in {time.monotonic() - begun:.0f} s", flush=True)
    if not passed:
        print(result.stdout[-6000:], result.stderr[-2000:], flush=True)
    return passed


def main() -> int:
    """Run them one after the other."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("paths", nargs="*", type=Path, default=[Path(__file__).parent])
    parser.add_argument("--shuffle", type=int, default=time.time_ns() % 10_000, metavar="SEED")
    parser.add_argument("--busy", type=int, default=0, metavar="LOOPS")
    arguments = parser.parse_args()
    print(f"--shuffle {arguments.shuffle}", flush=True)
    with ExitStack() as stack:
        for _ in range(arguments.busy):
            stack.enter_context(busy_loop())
        failed = sum(not passes(file, arguments.shuffle) for file in files_of(arguments.paths))
    return min(failed, 100)


if __name__ == "__main__":
    sys.exit(main())
