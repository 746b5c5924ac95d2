"""Real-time priority for a thread that must not be late, and none while it does what takes long."""

from __future__ import annotations

import contextlib
import os
import resource

REAL_TIME_US = 500_000  #: us; implementation limit
"""With real-time priority the kernel ends a process that does not once wait in so long."""


def take_precedence() -> None:
    """Ask for real-time priority for this thread, where the system grants it (as many do to an audio group).

    Without it, notes are milliseconds late now and then on a machine all of whose cores are busy.
    """
    with contextlib.suppress(AttributeError, OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_RTTIME, (REAL_TIME_US, REAL_TIME_US))
        os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(1))


def give_way() -> None:
    """Be a thread like others: what takes long, such as loading a library, must keep nobody else waiting."""
    with contextlib.suppress(AttributeError, OSError):
        os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))
