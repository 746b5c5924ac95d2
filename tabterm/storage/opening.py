"""Opening files that somebody else may have put there: never another kind of file, never a wait."""

from __future__ import annotations

import errno
import os
import stat
from typing import TYPE_CHECKING

from tabterm.storage.refusals import KINDS, StrangeFileError

if TYPE_CHECKING:
    from pathlib import Path

MOST_BYTES = 64_000_000
"""What is read of a file where its reader names no limit of its own; tuned here."""

_CHUNK = 1 << 20


def read(path: Path, *, most: int = MOST_BYTES, ours: bool = False) -> bytes:
    """The bytes of a plain file; with `ours`, only of one that `opened_ours` would open.

    Raises:
        StrangeFileError: It is another kind of file.
        OSError: It cannot be read, or holds more than `most` bytes (EFBIG).
    """
    descriptor = opened_ours(path, os.O_RDONLY) if ours else opened_to_read(path)
    try:
        if os.fstat(descriptor).st_size > most:
            raise _too_large(path, most)
        return read_all(descriptor, path, most)
    finally:
        os.close(descriptor)


def opened_to_read(path: Path) -> int:
    """A descriptor of a plain file of any owner, links followed; raises as `read`."""
    return _opened(path, os.O_RDONLY, 0, check=_plain)


def read_all(descriptor: int, path: Path, most: int = MOST_BYTES) -> bytes:
    """The bytes of an open file from where it stands; raises OSError beyond `most` of them."""
    parts: list[bytes] = []
    room = most + 1
    while room > 0 and (part := os.read(descriptor, min(room, _CHUNK))):
        parts.append(part)
        room -= len(part)
    if room <= 0:
        raise _too_large(path, most)
    return b"".join(parts)


def _too_large(path: Path, most: int) -> OSError:
    return OSError(errno.EFBIG, f"more than {most} bytes", str(path))


def opened_ours(path: Path, flags: int, mode: int = 0o600) -> int:
    """A descriptor of a plain file of this user's with one name; links are not followed.

    Raises:
        StrangeFileError: Something else stands there.
        OSError: It cannot be opened, or is not there and `flags` do not make it.
    """
    return _opened(path, flags | os.O_NOFOLLOW, mode, check=_ours)


def opened_plain(path: Path, flags: int, mode: int = 0o600) -> int:
    """A descriptor of a plain file of any owner; links are not followed; raises as `opened_ours`."""
    return _opened(path, flags | os.O_NOFOLLOW, mode, check=_plain)


def is_ours(path: Path) -> bool:
    """Whether nothing stands at a path, or what `opened_ours` would open."""
    try:
        return not _ours(path.lstat())
    except FileNotFoundError:
        return True
    except OSError:
        return False


def is_foreign(found: os.stat_result) -> bool:
    """Whether a file belongs to another user."""
    return found.st_uid != os.geteuid()


def make_private(path: Path) -> None:
    """Make sure that a file of this user's is there which nobody else may read.

    Raises:
        StrangeFileError: Something else stands there.
        OSError: It cannot be made or opened.
    """
    descriptor = opened_ours(path, os.O_RDWR | os.O_CREAT)
    try:
        if os.fstat(descriptor).st_mode & 0o077:
            os.fchmod(descriptor, 0o600)
    finally:
        os.close(descriptor)


def make_own_folder(folder: Path) -> None:
    """Make a folder for this user alone where it is missing; raises OSError."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)


def _opened(path: Path, flags: int, mode: int, *, check: _Check) -> int:
    """Open what `check` finds nothing strange in, before opening it (a device acts on it) and after."""
    if "\0" in os.fspath(path):
        raise OSError(errno.EINVAL, "a name cannot contain a zero byte", str(path))
    try:
        there = path.stat(follow_symlinks=not flags & os.O_NOFOLLOW)
    except FileNotFoundError:
        pass
    else:
        _refuse(path, check(there))
    descriptor = os.open(path, flags | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC, mode)
    try:
        _refuse(path, check(os.fstat(descriptor)))
    except BaseException:
        os.close(descriptor)
        raise
    return descriptor


def _refuse(path: Path, what: str) -> None:
    if what:
        raise StrangeFileError(path, what)


def _plain(found: os.stat_result) -> str:
    """What a file is that is not a plain one; "" for a plain one."""
    return "" if stat.S_ISREG(found.st_mode) else KINDS.get(stat.S_IFMT(found.st_mode), "not a plain file")


def _ours(found: os.stat_result) -> str:
    """What hinders a file from being this user's alone; "" for nothing."""
    if strange := _plain(found):
        return strange
    if is_foreign(found):
        return "a file of another user"
    return "a file with a second name (a hard link)" if found.st_nlink > 1 else ""


if TYPE_CHECKING:
    from collections.abc import Callable

    _Check = Callable[[os.stat_result], str]
