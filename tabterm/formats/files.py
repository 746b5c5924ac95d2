"""Writing files so that a crash, a full disk or a dropped line never costs what was there before."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import secrets
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from typing_extensions import Buffer

HINTS = {
    errno.ENOSPC: "the disk is full: make room, or write elsewhere",
    errno.EDQUOT: "your disk quota is used up: make room, or write elsewhere",
    errno.EROFS: "the disk is read-only: write elsewhere",
    errno.EACCES: "you may not write there: write elsewhere",
    errno.EPERM: "you may not write there: write elsewhere",
    errno.ENOENT: "the folder is not there: make it, or write elsewhere",
    errno.ENOTDIR: "the folder is not there: make it, or write elsewhere",
    errno.EISDIR: "there is a folder of that name: choose another",
    errno.EFBIG: "the file would be larger than allowed: write less, or elsewhere",
}

UNSYNCED = {errno.EINVAL, errno.ENOTSUP, errno.ENOSYS, errno.EBADF, errno.EACCES, errno.EPERM}
"""What file systems say that sync no folders (network and user-space ones), and folders that may not be read."""


def atomic_write(path: Path, data: bytes) -> None:
    """Put `data` in the file at `path`, wholly or not at all; mode and symbolic links are kept.

    Raises:
        StorageError: The disk refused; the old file is as it was.
    """
    with replacing(path) as file:
        file.write(data)


@contextlib.contextmanager
def replacing(path: Path) -> Iterator[io.FileIO]:
    """A new file beside `path` that takes its place when the block ends well, and is gone when it does not.

    Raises:
        StorageError: The disk refused, in the block or here; the old file is as it was.
    """
    target = Path(os.path.realpath(path))
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    try:
        try:
            with _Whole(temporary, _mode_of(target)) as file:
                yield file
                os.fsync(file.fileno())
            temporary.replace(target)
        except BaseException:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise
        _sync_folder(target.parent)
    except OSError as error:
        raise refusal(error, path) from error


def refusal(error: OSError, path: Path) -> StorageError:
    """What a disk that refuses is told as."""
    reason = error.strerror or str(error)
    hint = HINTS.get(error.errno or 0, "write elsewhere")
    return StorageError(f"cannot be written: {reason}", place=str(path), hint=hint)


class _Whole(io.FileIO):
    """A file that did not exist before, and writes all it is given."""

    def __init__(self, path: Path, mode: int | None) -> None:
        flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
        super().__init__(os.open(path, flags, 0o666), "r+")
        if mode is not None:
            os.fchmod(self.fileno(), mode)

    def write(self, data: Buffer, /) -> int:
        """Write all of it; raises OSError."""
        view = memoryview(data).cast("B")
        written = 0
        while written < len(view):
            written += os.write(self.fileno(), view[written:])
        return written


def stale_temporaries(path: Path) -> list[Path]:
    """Files that an interrupted `atomic_write` to `path` has left behind."""
    target = Path(os.path.realpath(path))
    prefix = f".{target.name}."
    try:
        names = [each.name for each in target.parent.iterdir()]
    except OSError:
        return []
    return [
        target.parent / name
        for name in names
        if name.startswith(prefix) and name.endswith(".tmp") and len(name) == len(prefix) + 12
    ]


def _mode_of(target: Path) -> int | None:
    try:
        return target.stat().st_mode & 0o7777
    except FileNotFoundError:
        return None


def _sync_folder(folder: Path) -> None:
    """Put the file's new name on the disk too, where folders can be synced: the file itself is in its place."""
    try:
        descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        if error.errno not in UNSYNCED:
            raise
