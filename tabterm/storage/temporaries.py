"""Temporaries beside what they are to become, clearing away those that were left behind, and what comes by a pipe.

A temporary is locked as long as it is being written, so that nobody takes it for one that was left behind.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import shutil
import stat
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.errors import StorageError
from tabterm.storage import names
from tabterm.storage.opening import is_foreign
from tabterm.storage.refusals import refusal

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import BinaryIO

_TOKEN_BYTES = 4
_ANY = "?" * (2 * _TOKEN_BYTES)

_CHUNK = 1 << 20

FORGOTTEN_S = 86_400
"""Age from which a temporary counts as left behind where no lock can tell; tuned here."""


def temporary(target: Path, token: str = "") -> Path:
    """A new name beside a target; names of one target differ in the token alone."""
    token = token or os.urandom(_TOKEN_BYTES).hex()
    return target.with_name(names.fitted(f".{target.name}", f".{token}.tmp", target.parent))


def hold(descriptor: int, path: Path) -> bool:
    """Lock a temporary that has just been made; False where it was cleared away before that."""
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True  # no locks here: it is told by its age
    try:
        return os.path.samestat(os.fstat(descriptor), path.lstat())
    except FileNotFoundError:
        return False


def clear_stale(path: Path) -> None:
    """Remove the files and folders that interrupted writes to `path` have left, and that nobody is writing."""
    for each in _named_like(Path(os.path.realpath(path))):
        with contextlib.suppress(OSError):
            _clear(each)


def _named_like(target: Path) -> Iterator[Path]:
    """What stands beside a target under the name of a temporary of it."""
    start, end = temporary(target, _ANY).name.split(_ANY)
    with contextlib.suppress(OSError):
        for each in list(target.parent.iterdir()):
            name = each.name
            if name.startswith(start) and name.endswith(end) and len(name) == len(start + _ANY + end):
                yield each


def _clear(found: Path) -> None:
    """Remove a temporary of this user's, holding its lock; raises OSError."""
    kind = found.lstat().st_mode
    if not stat.S_ISREG(kind) and not stat.S_ISDIR(kind):
        return
    descriptor = os.open(found, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        if not _is_left_behind(descriptor):
            return
        if stat.S_ISDIR(kind):
            shutil.rmtree(found)
        else:
            found.unlink()
    finally:
        os.close(descriptor)


def _is_left_behind(descriptor: int) -> bool:
    """Whether a temporary is this user's, and no process holds its lock, which is taken."""
    status = os.fstat(descriptor)
    if is_foreign(status):
        return False
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return time.time() - status.st_mtime > FORGOTTEN_S
    return True


@contextlib.contextmanager
def spooled(stream: BinaryIO, name: str, most: int) -> Iterator[Path]:
    """A file of this user's alone with all that a stream holds, in a folder that is gone after the block.

    Raises:
        StorageError: The disk refused, or the stream holds more than `most` bytes.
    """
    with tempfile.TemporaryDirectory(prefix="tabterm-") as folder:
        path = Path(folder) / name
        try:
            with path.open("xb") as file:
                while part := stream.read(min(_CHUNK, most + 1 - file.tell())):
                    file.write(part)
        except OSError as error:
            raise refusal(error, path) from error
        if path.stat().st_size > most:
            raise StorageError("too much data from the pipe", hint=f"at most {most} bytes")
        yield path
