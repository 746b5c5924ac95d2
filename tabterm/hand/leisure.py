"""Work that has time: what takes long asks between its steps whether it is to wait for what has not."""

from __future__ import annotations

from threading import local
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


class _Leisure(local):
    """What a thread waits by; in most threads, by nothing."""

    wait: Callable[[], None] | None = None


_mine = _Leisure()


def wait_by(wait: Callable[[], None]) -> None:
    """From now on this thread's long work calls `wait`, which may take its time, every millisecond or so."""
    _mine.wait = wait


def give_way() -> None:
    """Wait if this thread's work is to wait."""
    if _mine.wait is not None:
        _mine.wait()
