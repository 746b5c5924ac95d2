"""The collector of garbage that goes round in circles, kept from looking through what is being made, or stays."""

from __future__ import annotations

import gc
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def at_rest() -> Iterator[None]:
    """Let it rest while a file is read or modules are loaded: thousands of new objects, none of them garbage.

    Looking through them again and again is half the time of reading a file, and a seventh of the program's start.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


RARELY = (20_000, 10, 20)
"""After how many new objects it looks through the young ones, and how often through older ones (see `gc`)."""


def look_rarely() -> None:
    """Look less often: each look stops every thread, and little that is thrown away goes round in circles."""
    gc.set_threshold(*RARELY)


def keep_all() -> None:
    """What there is now stays: do not look through it again."""
    gc.freeze()
