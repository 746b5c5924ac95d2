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
    """Handle SIGHUP, SIGTERM and SIGQUIT: carry out what is to be done last, in this order, and end.

    The exit status is 128 + the signal; by SIGQUIT the process dies, so that whoever wants a core dump gets it.
    Must be called from the main thread. Each callback must return within a tenth of a second; what it raises is
    dropped, so that the others still run.
    """

    def end(number: int, _frame: FrameType | None) -> None:
        for act in last:
            with suppress(Exception):
                act()
        if number == signal.SIGQUIT:
            signal.signal(number, signal.SIG_DFL)
            os.kill(os.getpid(), number)
        os._exit(128 + number)

    for number in (signal.SIGHUP, signal.SIGTERM, signal.SIGQUIT):
        signal.signal(number, end)
