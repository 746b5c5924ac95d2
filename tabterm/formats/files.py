"""Writing files so that a crash, a full disk or a dropped line never costs what was there before."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
from pathlib import Path

from tabterm.errors import StorageError

HINTS = {
    errno.ENOSPC: "the disk is full: make room, or write elsewhere",
    errno.EDQUOT: "your disk quota is used up: make room, or write elsewhere",
    errno.EROFS: "the disk is read-only: write elsewhere",
    errno.EACCES: "you may not write there: write elsewhere",
    errno.EPERM: "you may not write there: write elsewhere",
    errno.ENOENT: "the folder is not there: make it, or write elsewhere",
    errno.ENOTDIR: "the folder is not there: make it, or write elsewhere",
    errno.EISDIR: "there is a folder of that name: choose another",
}


def atomic_write(path: Path, data: bytes) -> None:
    """Put `data` in the file at `path`, wholly or not at all; mode and symbolic links are kept.

    Raises:
        StorageError: The disk refused; the old file is as it was.
    """
    target = Path(os.path.realpath(path))
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    try:
        try:
            _write_new(temporary, data, _mode_of(target))
            temporary.replace(target)
        except OSError:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise
        _sync_folder(target.parent)
    except OSError as error:
        reason = error.strerror or str(error)
        hint = HINTS.get(error.errno or 0, "write elsewhere")
        raise StorageError(f"cannot be written: {reason}", place=str(path), hint=hint) from error


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


def _write_new(path: Path, data: bytes, mode: int | None) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o666)
    try:
        if mode is not None:
            os.fchmod(descriptor, mode)
        written = 0
        while written < len(data):
            written += os.write(descriptor, data[written:])
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
