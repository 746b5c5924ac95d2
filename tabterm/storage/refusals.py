"""What the disk refuses, in the player's words."""

from __future__ import annotations

import errno
import stat
from typing import TYPE_CHECKING

from tabterm.errors import StorageError

if TYPE_CHECKING:
    from pathlib import Path

KINDS = {
    stat.S_IFLNK: "a symbolic link",
    stat.S_IFDIR: "a folder",
    stat.S_IFIFO: "a pipe",
    stat.S_IFSOCK: "a socket",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
}

HINTS = {
    errno.ENOSPC: "the disk is full: make room, or write elsewhere",
    errno.EDQUOT: "your disk quota is used up: make room, or write elsewhere",
    errno.EROFS: "the disk is read-only: write elsewhere",
    errno.EACCES: "you have no permission to write there: write elsewhere",
    errno.EPERM: "you have no permission to write there: write elsewhere",
    errno.ENOENT: "the folder does not exist: make it, or write elsewhere",
    errno.ENOTDIR: "the folder does not exist: make it, or write elsewhere",
    errno.EISDIR: "a folder has that name: choose another name",
    errno.EFBIG: "the file would be larger than allowed: write less, or elsewhere",
    errno.ENAMETOOLONG: "the name is too long: choose a shorter one",
}

WORDS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your disk quota is used up",
    errno.EROFS: "the disk is read-only",
    errno.EACCES: "you have no permission to write in the folder",
    errno.EPERM: "you have no permission to write in the folder",
    errno.ENOENT: "no such folder",
    errno.EFBIG: "the file has reached its size limit",
    errno.EEXIST: "another journal is beside the file",
}


class StrangeFileError(OSError):
    """What stands at a path is not a plain file of this user; its text says what it is."""

    def __init__(self, path: Path, what: str) -> None:
        self.what = f"{path.name} is {what}"
        super().__init__(errno.EEXIST, self.what, str(path))


def refusal(error: OSError, path: Path) -> StorageError:
    """The refusal of a disk, asked to write the file at `path`."""
    hint = "remove it, or choose another name" if isinstance(error, StrangeFileError) else "write elsewhere"
    reason, _, way = HINTS.get(error.errno or 0, f"{error.strerror or error}: {hint}").rpartition(": ")
    return StorageError(f"cannot be written: {reason}", place=str(path), hint=way)


def disk_words(error: OSError) -> str:
    """Why the disk refused, in a few words."""
    if isinstance(error, StrangeFileError):
        return error.what
    return WORDS.get(error.errno or 0, error.strerror or str(error))
