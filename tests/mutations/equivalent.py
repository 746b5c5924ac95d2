"""Faults that change nothing that can be seen, each by its name with the reason."""

from __future__ import annotations

EQUIVALENT: dict[str, str] = {
    "tabterm/performance/comping.py walk: count - 1 -> count + 1": "only so many are taken, whatever follows",
    "tabterm/harmony/spelling.py degree_name: octave > 0 -> octave >= 0": "no sharp and no flat are the same",
}
