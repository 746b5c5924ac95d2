"""The lock that keeps two editors from writing to one file.

It is an flock on a sidecar, `.NAME.lock`: saving replaces the document's inode, so that a lock on the document
itself would be lost. The sidecar says who holds it.
"""

from __future__ import annotations

import fcntl
import getpass
import json
import os
import socket
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class LockHolder:
    """Who has a document open: user, host, process number, and since when (local time, `HH:MM`)."""

    user: str
    host: str
    process: int
    since: str

    def __str__(self) -> str:
        return f"{self.user}@{self.host}, process {self.process}, since {self.since}"


GONE_S = 0.5
"""How long a lock is waited for whose holder is dead: a child that it was starting then may have it still."""

UNKNOWN = LockHolder("somebody", "an unknown host", 0, "an unknown time")


class Lock:
    """A held lock; `release` gives it back and takes the sidecar away."""

    def __init__(self, path: Path, descriptor: int) -> None:
        self._path = path
        self._descriptor: int | None = descriptor

    @classmethod
    def take(cls, path: Path) -> Lock | LockHolder:
        """Take the lock of a document (its real path), or tell who holds it.

        Raises:
            OSError: The sidecar cannot be made, or the file system knows no locks.
        """
        sidecar = path.with_name(f".{path.name}.lock")
        deadline = time.monotonic() + GONE_S
        while True:
            descriptor = os.open(sidecar, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
            try:
                fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                holder = _read_holder(descriptor)
                os.close(descriptor)
                if not _is_gone(holder) or time.monotonic() > deadline:
                    return holder
                time.sleep(0.005)
                continue
            except OSError:
                os.close(descriptor)
                raise
            if _is_still(sidecar, descriptor):
                os.ftruncate(descriptor, 0)
                os.write(descriptor, json.dumps(_ourselves()).encode())
                return cls(sidecar, descriptor)
            os.close(descriptor)  # its holder took the sidecar away in between: try the new one

    def release(self) -> None:
        """Give the lock back."""
        if self._descriptor is not None:
            with suppress(OSError):  # a file that is left behind holds nothing
                self._path.unlink(missing_ok=True)
            os.close(self._descriptor)
            self._descriptor = None


def _is_still(path: Path, descriptor: int) -> bool:
    try:
        there = path.stat()
    except FileNotFoundError:
        return False
    ours = os.fstat(descriptor)
    return (there.st_dev, there.st_ino) == (ours.st_dev, ours.st_ino)


def _is_gone(holder: LockHolder) -> bool:
    """Whether the process that took a lock here has ended."""
    if holder is UNKNOWN or holder.host != socket.gethostname():
        return False
    try:
        os.kill(holder.process, 0)
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False


def _ourselves() -> dict[str, str | int]:
    try:
        user = getpass.getuser()
    except (KeyError, OSError):
        user = str(os.getuid())
    now = datetime.now().astimezone()
    return {"user": user, "host": socket.gethostname(), "process": os.getpid(), "since": f"{now:%H:%M}"}


def _read_holder(descriptor: int) -> LockHolder:
    try:
        words = json.loads(os.pread(descriptor, 4096, 0))
        return LockHolder(str(words["user"]), str(words["host"]), int(words["process"]), str(words["since"]))
    except (ValueError, KeyError, TypeError):
        return UNKNOWN
