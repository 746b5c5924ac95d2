"""The two halves of the exercises: one to tune numbers on, the other to judge them by.

The half hangs on the name alone, so that a new exercise moves no other one: those whose name has an even first
byte in its SHA-256 are for tuning, the others for checking. No number is changed for the sake of an exercise of
the checking half. The numbers of today were tuned before there were halves, with all exercises in view: of them
the checking half proves less than it will of what is changed from now on.
"""

from __future__ import annotations

from hashlib import sha256

HALVES = ("tuning", "checking")


def half_of(name: str) -> str:
    """The half that an exercise of this name belongs to."""
    return HALVES[sha256(name.encode()).digest()[0] % 2]
