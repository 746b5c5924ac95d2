"""What happens when the terminal goes away or the process is told to end.

The handlers run in the main thread even while the event loop is blocked on a terminal that does not drain, so
they do the least that loses nothing: append and fsync, silence, exit. Nothing of the screen is put right:
there is no screen any more, and waiting for it could hang for good.
"""

from __future__ import annotations

import os
import signal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType


def install(flush: Callable[[], None], silence: Callable[[], None]) -> None:
    """Handle SIGHUP and SIGTERM: `flush` the journal, `silence` the sound, and exit with 128 + the signal.

    Must be called from the main thread. Each callback must return within a tenth of a second and raise
    nothing; what it raises all the same is dropped, so that the other one still runs.
    """

    def end(number: int, _frame: FrameType | None) -> None:
        try:
            flush()
        finally:
            try:
                silence()
            finally:
                os._exit(128 + number)

    for number in (signal.SIGHUP, signal.SIGTERM):
        signal.signal(number, end)
