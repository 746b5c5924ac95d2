"""The cyclic garbage collector, spared while a file is read."""

from __future__ import annotations

import gc
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Spare it thousands of new objects without cycles: half the reading time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
