"""How much of a long test runs: a short form in the suite, all of it with `TABTERM_THOROUGH=1`."""

from __future__ import annotations

import os

THOROUGH = os.environ.get("TABTERM_THOROUGH", "") not in {"", "0"}


def many(in_suite: int, in_full: int) -> int:
    """How often something is tried that proves more the more often it is: in the suite, and thoroughly."""
    return in_full if THOROUGH else in_suite
