"""A file that grows by whole pieces, each on the disk before the next one where the disk is quick enough."""

from __future__ import annotations

import errno
import fcntl
import os
import threading
import time
from contextlib import suppress
from typing import TYPE_CHECKING

from tabterm.storage.lock import is_still
from tabterm.storage.opening import opened_ours
from tabterm.storage.whole import replacing, sync_folder

if TYPE_CHECKING:
    from pathlib import Path

QUICK_S = 0.004
"""A disk that syncs within this time is waited for at each piece; a slower one is synced beside the keys.

Tuned here: a key has 5 ms, and fdatasync took 0.25 ms (median) and 0.7 ms (99 of 100) on the disk measured.
"""


class TakenError(BlockingIOError):
    """Another process appends to the file."""


class AppendedFile:
    """A file of this process alone, open for appending.

    Attributes:
        path: Where it was opened.
        size: Bytes in it.
    """

    def __init__(self, path: Path, descriptor: int, *, is_new: bool) -> None:
        self.path = path
        self.size = os.lseek(descriptor, 0, os.SEEK_END)
        self._descriptor = descriptor
        self._is_new = is_new
        self._synced = 0 if is_new else self.size
        self._slow = False
        self._syncing: threading.Thread | None = None
        self._trouble: OSError | None = None
        self._torn = False

    @classmethod
    def made(cls, path: Path) -> AppendedFile:
        """A new file; raises OSError, FileExistsError where something stands there."""
        descriptor = opened_ours(path, os.O_RDWR | os.O_CREAT | os.O_EXCL)
        with suppress(OSError):  # new and ours: the lock is for those who find it
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return cls(path, descriptor, is_new=True)

    @classmethod
    def claimed(cls, path: Path) -> AppendedFile:
        """A file that is there, taken over from a process that has ended.

        Raises:
            TakenError: The process has not ended.
            OSError: It cannot be opened, is no plain file of this user's, or cannot be locked.
        """
        descriptor = opened_ours(path, os.O_RDWR)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            os.close(descriptor)
            raise TakenError(*error.args) from None
        except BaseException:
            os.close(descriptor)
            raise
        if is_still(path, descriptor):
            return cls(path, descriptor, is_new=False)
        os.close(descriptor)
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))

    @classmethod
    def replaced(cls, path: Path, data: bytes) -> AppendedFile:
        """A new file with its first piece, in place of the one at a path; raises StorageError, OSError."""
        with replacing(path) as file:
            file.write(data)
            descriptor = os.dup(file.fileno())  # the lock of the new file is taken over with it
        return cls(path, descriptor, is_new=False)

    def cut(self, size: int) -> None:
        """Keep only so many bytes; raises OSError."""
        os.ftruncate(self._descriptor, size)
        os.lseek(self._descriptor, size, os.SEEK_SET)
        self.size = size
        self._synced = -1

    def append(self, data: bytes) -> None:
        """Put a piece at the end; once this returns, it outlives the process and, on a quick disk, the system.

        Raises:
            OSError: The disk refused, now or when it was last synced; the file takes no more where a part of the
                piece could not be cut off again.
        """
        if self._torn:
            raise OSError(errno.EIO, "its last record is incomplete", str(self.path))
        self._raise_trouble()
        try:
            written = 0
            while written < len(data):
                written += os.write(self._descriptor, data[written:])
        except OSError:
            self._torn = True
            self.cut(self.size)
            self._torn = False
            raise
        self.size += len(data)
        if self._slow:
            self._sync_beside()
        else:
            self._timed_sync()

    def sync(self) -> None:
        """Wait until all of it is on the disk, its name too the first time; raises OSError."""
        self._raise_trouble()
        if self._synced != self.size:
            self._timed_sync()
        if self._is_new:
            sync_folder(self.path.parent)
            self._is_new = False

    def is_in_place(self) -> bool:
        """Whether the file is still where it was opened."""
        return is_still(self.path, self._descriptor)

    def close(self) -> None:
        """Close it; what is not synced stays with the system."""
        if self._syncing is not None:
            self._syncing.join()
        os.close(self._descriptor)

    def remove(self) -> None:
        """Take it away or, where its folder may not be written to, empty it, and close it; raises OSError."""
        try:
            if self.is_in_place():
                try:
                    self.path.unlink(missing_ok=True)
                except OSError:
                    self.cut(0)
        finally:
            self.close()

    def _timed_sync(self) -> None:
        size, begun = self.size, time.perf_counter()
        getattr(os, "fdatasync", os.fsync)(self._descriptor)
        self._synced = size
        self._slow = time.perf_counter() - begun > QUICK_S

    def _sync_beside(self) -> None:
        """Sync in a thread; what is appended in the meantime goes together afterwards."""
        if self._syncing is None or not self._syncing.is_alive():
            self._syncing = threading.Thread(target=self._catch_up, name="tabterm-sync", daemon=True)
            self._syncing.start()

    def _catch_up(self) -> None:
        try:
            while self._synced != self.size:
                self._timed_sync()
        except OSError as error:
            self._trouble = error

    def _raise_trouble(self) -> None:
        if self._trouble is not None:
            error, self._trouble = self._trouble, None
            raise error
