"""Run the ordeal and print its figures; ends with 1 where anything was lost, harmed or let through."""

from __future__ import annotations

import argparse
import importlib
import sys
import time

PARTS = {"kills": 1000, "disks": 2000, "mutations": 100_000, "plants": 10}
"""Each part with how often it is run in the thorough form."""


def main(words: list[str]) -> int:
    """Run the parts named, or all, scaled."""
    parser = argparse.ArgumentParser(prog="python -m tests.ordeal", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)} (all)")
    parser.add_argument("--scale", type=float, default=1.0, help="how much of the thorough form to run (1)")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args(words)
    failed = False
    for name in arguments.parts or PARTS:
        begun = time.monotonic()
        count = max(round(PARTS[name] * arguments.scale), 1)
        outcome = importlib.import_module(f"tests.ordeal.{name}").run(count, arguments.seed)
        print(f"{outcome} ({time.monotonic() - begun:.0f} s)", flush=True)
        for fault in outcome.faults[:20]:
            print(f"  {fault}", flush=True)
        failed |= bool(outcome.faults)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
