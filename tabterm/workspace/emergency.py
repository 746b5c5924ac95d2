"""What happens when the terminal goes away or the process is told to end.

The handlers run in the main thread even while the event loop is blocked on a terminal that does not drain, so
they do the least that loses nothing: append and fsync, silence, give the terminal back if it takes that at once,
exit.
"""

from __future__ import annotations

import os
import signal
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType


def install(*last: Callable[[], None]) -> None:
    """Handle SIGHUP and SIGTERM: carry out what is to be done last, in this order, and exit with 128 + the signal.

    Must be called from the main thread. Each callback must return within a tenth of a second; what it raises is
    dropped, so that the others still run.
    """

    def end(number: int, _frame: FrameType | None) -> None:
        for act in last:
            with suppress(Exception):
                act()
        os._exit(128 + number)

    for number in (signal.SIGHUP, signal.SIGTERM):
        signal.signal(number, end)
