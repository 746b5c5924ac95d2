"""The lock that keeps two editors from writing to one file.

It is an flock on a side file, `.NAME.lock`: saving replaces the document's inode, so that a lock on the document
itself would be lost. The side file says who holds it. Whoever may write the document may lock it, so that those
who share a folder see each other.
"""

from __future__ import annotations

import fcntl
import getpass
import json
import os
import time
from contextlib import suppress
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.parsing import json_of
from tabterm.storage import names, opening
from tabterm.storage.refusals import StrangeFileError

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
        return printable.line(f"{self.user}@{self.host}, process {self.process}, since {self.since}")


LARGEST_PROCESS = 0x7FFF_FFFF  #: number; a signed int of 32 bits (POSIX pid_t on usual systems)

GONE_S = 0.5
"""How long a lock is waited for whose holder is dead: a child that it was starting then may have it still."""

UNKNOWN = LockHolder("somebody", "an unknown host", 0, "an unknown time")


class Lock:
    """A held lock; `release` gives it back and takes its file away."""

    def __init__(self, path: Path, descriptor: int) -> None:
        self._path = path
        self._descriptor: int | None = descriptor

    @classmethod
    def take(cls, path: Path) -> Lock | LockHolder:
        """Take the lock of a document (its real path), or tell who holds it.

        Raises:
            OSError: The side file cannot be made or is no plain file, or the file system knows no locks.
        """
        file = names.beside(path, "lock")
        deadline = time.monotonic() + GONE_S
        while True:
            descriptor = _opened(file, _mode(path))
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
            if not is_still(file, descriptor):
                os.close(descriptor)  # its holder took the file away in between: try the new one
            elif opening.is_foreign(os.fstat(descriptor)) and _removed(file):
                os.close(descriptor)  # left behind by somebody else: make our own
            else:
                _say_who(descriptor)
                return cls(file, descriptor)

    def release(self) -> None:
        """Give the lock back."""
        if self._descriptor is not None:
            with suppress(OSError):  # a file that is left behind holds nothing
                self._path.unlink(missing_ok=True)
            os.close(self._descriptor)
            self._descriptor = None


def _opened(file: Path, mode: int) -> int:
    """The side file: our own to write in, somebody else's to lock."""
    try:
        return opening.opened_ours(file, os.O_RDWR)
    except FileNotFoundError:
        descriptor = opening.opened_ours(file, os.O_RDWR | os.O_CREAT, 0o600)
        with suppress(OSError):
            if mode & 0o060:
                os.fchown(descriptor, -1, file.parent.stat().st_gid)
            os.fchmod(descriptor, mode)
        return descriptor
    except StrangeFileError:
        descriptor = opening.opened_plain(file, os.O_RDONLY)
        if opening.is_foreign(os.fstat(descriptor)):
            return descriptor
        os.close(descriptor)
        raise


def _mode(path: Path) -> int:
    """Who may lock a document: those who may write to it, or put another in its place."""
    mode = 0o600
    for there in (path, path.parent):
        with suppress(OSError):
            found = there.stat().st_mode
            mode |= found & 0o060 if found & 0o020 else 0
            mode |= found & 0o006 if found & 0o002 and not found & 0o1000 else 0
    return mode


def _removed(file: Path) -> bool:
    try:
        file.unlink()
    except FileNotFoundError:
        return True
    except OSError:
        return False
    return True


def _say_who(descriptor: int) -> None:
    """Write our name into the side file; one of somebody else's keeps theirs, and a full disk says nothing."""
    if not opening.is_foreign(os.fstat(descriptor)):
        with suppress(OSError):
            os.ftruncate(descriptor, 0)
            os.write(descriptor, json.dumps(_ourselves()).encode())


def is_still(path: Path, descriptor: int) -> bool:
    """Whether an open file is still the one at a path."""
    try:
        there = path.lstat()
    except OSError:
        return False
    ours = os.fstat(descriptor)
    return (there.st_dev, there.st_ino) == (ours.st_dev, ours.st_ino)


def _is_gone(holder: LockHolder) -> bool:
    """Whether the process that took a lock here has ended."""
    if holder is UNKNOWN or holder.host != os.uname().nodename:
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
    now = time.strftime("%H:%M")
    return {"user": user, "host": os.uname().nodename, "process": os.getpid(), "since": now}


def _read_holder(descriptor: int) -> LockHolder:
    try:
        words = json_of(os.pread(descriptor, 4096, 0))
        holder = LockHolder(str(words["user"]), str(words["host"]), int(words["process"]), str(words["since"]))
    except (FormatError, ValueError, KeyError, TypeError, OverflowError):
        return UNKNOWN
    return holder if 0 < holder.process <= LARGEST_PROCESS else UNKNOWN
