"""Sheets: 16 measures and 1,000 as PDF, by the command and in a program that runs already."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tabterm.formats import native
from tabterm.hand.proposals import with_hands
from tabterm.piece.sheet import write_sheet
from tests.bench.figure import Figure
from tests.bench.files import SAMPLE, long_score, seconds
from tests.build import PLAYER


def figures() -> list[Figure]:
    """Figures of printing."""
    score = with_hands(native.read(SAMPLE.read_bytes()), PLAYER)
    count = len(score.measures) - 1
    with tempfile.TemporaryDirectory() as folder:
        out, long = Path(folder) / "out.pdf", Path(folder) / "long.tabterm"
        long.write_bytes(native.write(long_score(1000)))

        def command(file: Path) -> None:
            words = [sys.executable, "-m", "tabterm", "sheet", str(file), str(out), "--force"]
            subprocess.run(words, check=True, capture_output=True)

        warm = seconds(lambda: write_sheet(out, score), 7)
        cold = seconds(lambda: command(SAMPLE), 5)
        whole = seconds(lambda: command(long), 1)
        size = out.stat().st_size
    return [
        Figure(f"{count} measures to PDF, warm", warm * 1000, "ms", 500),
        Figure(f"{count} measures to PDF, the command", cold * 1000, "ms", 1500),
        Figure("1,000 measures to PDF, the command", whole, "s", 10, f"{size / 1e6:.1f} MB, with fingering"),
    ]
