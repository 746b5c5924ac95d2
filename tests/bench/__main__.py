"""Print every figure with its goal: `python -m tests.bench [PART ...]`, the parts by their names in `PARTS`."""

from __future__ import annotations

import importlib
import sys

PARTS = {
    "files": "files",
    "entry": "entry",
    "hand": "hand",
    "editor": "editor",
    "terminal": "terminal",
    "band": "band",
    "sound": "lateness",
    "listener": "listener",
    "synth": "synth",
    "tone": "tone",
    "heard": "heard",
    "exchange": "exchange",
    "journal": "journal",
    "sheet": "sheet",
    "phrases": "phrases",
    "ear": "ear",
    "beats": "beats",
    "chords": "chords",
    "slowing": "slowing",
}


def main(names: list[str]) -> None:
    """Measure the parts named, or all."""
    print(f"{'figure':<48}{'value':>12}  {'unit':<8}{'goal':>10}  {'ratio':>6}  note")
    for name in names or PARTS:
        for figure in importlib.import_module(f"tests.bench.{PARTS[name]}").figures():
            goal = "" if figure.goal is None else f"{figure.goal:g}"
            ratio = f"{figure.value / figure.goal:.2f}" if figure.goal else ""
            print(
                f"{figure.name:<48}{figure.value:>12.4g}  {figure.unit:<8}{goal:>10}  {ratio:>6}  {figure.note}",
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1:])
