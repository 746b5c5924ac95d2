"""Writing files and folders so that a crash, a full disk or a dropped line never costs what was there before."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import shutil
import stat
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm.errors import StorageError
from tabterm.storage.names import fitted
from tabterm.storage.opening import opened_ours, read
from tabterm.storage.refusals import KINDS, StrangeFileError, refusal
from tabterm.storage.temporaries import clear_stale, hold, temporary

if TYPE_CHECKING:
    from collections.abc import Iterator

    from typing_extensions import Buffer


@contextlib.contextmanager
def filling(folder: Path) -> Iterator[Path]:
    """A new folder beside `folder`, whose files go there when the block ends well, and are gone when it does not.

    Raises:
        StorageError: The disk refused; it names the folder, not the new one.
    """
    beside = folder.absolute()
    clear_stale(beside)
    try:
        new, descriptor = _made_folder(beside)
        try:
            yield new
            _put(new, folder)
        except BaseException:
            shutil.rmtree(new, ignore_errors=True)
            raise
        finally:
            os.close(descriptor)
    except StorageError as error:
        place = error.place.replace(str(new), str(folder))
        raise StorageError(error.message, place=place, hint=error.hint) from error
    except OSError as error:
        raise refusal(error, folder) from error


def _made_folder(beside: Path) -> tuple[Path, int]:
    """A new folder and a descriptor that holds it."""
    while True:
        new = temporary(beside)
        new.mkdir()
        descriptor = os.open(new, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC)
        if hold(descriptor, new):
            return new, descriptor
        os.close(descriptor)


def _put(new: Path, folder: Path) -> None:
    """Let a new folder take its place, or its files theirs in the folder that is there."""
    if not folder.is_dir():
        new.replace(folder)
        return
    for path in sorted(new.iterdir()):
        path.replace(folder / path.name)
    new.rmdir()


UNSYNCED = {errno.EINVAL, errno.ENOTSUP, errno.ENOSYS, errno.EBADF, errno.EACCES, errno.EPERM}
"""What file systems say that sync no folders (network and user-space ones), and folders that may not be read."""


def atomic_write(path: Path, data: bytes, *, like: Path | None = None, protected: bool = True) -> None:
    """Put `data` in the file at `path`, wholly or not at all; see `replacing`.

    Raises:
        StorageError: The disk refused, or the file is read-only; the old file is as it was.
    """
    with replacing(path, like=like, protected=protected) as file:
        file.write(data)


@contextlib.contextmanager
def replacing(path: Path, *, like: Path | None = None, protected: bool = True) -> Iterator[io.FileIO]:
    """A new file beside `path` that takes its place when the block ends well, and is gone when it does not.

    It goes through a symbolic link to its target, and keeps the mode, owner, group and extended attributes of the
    file there as far as the system allows; a new file gets the mode of `like`, where given. A read-only file is
    refused unless `protected` is False.

    Raises:
        StorageError: The disk refused, in the block or here, or the file is read-only; it is as it was.
    """
    target = Path(os.path.realpath(path))
    try:
        before = _standing(target)
        if before is not None and protected:
            check_not_read_only(path, before)
        clear_stale(target)
        file = _made(target, 0o600 if before else _mode_of(like))
        try:
            with file:
                if before is not None:
                    _keep(file.fileno(), target, before)
                yield file
                os.fsync(file.fileno())
                file.path.replace(target)
        except BaseException:
            with contextlib.suppress(OSError):
                file.path.unlink(missing_ok=True)
            raise
        sync_folder(target.parent)
    except OSError as error:
        raise refusal(error, path) from error


def forget_all_but(folder: Path, pattern: str, most: int) -> None:
    """Delete the oldest of our own files of a pattern that are more than `most`; raises OSError."""
    found = sorted(folder.glob(pattern), key=lambda path: path.lstat().st_mtime_ns, reverse=True)
    for path in found[most:]:
        path.unlink(missing_ok=True)


def write_new(path: Path, data: bytes = b"") -> None:
    """A file of this user's alone that was not there before; raises OSError, FileExistsError where it is."""
    descriptor = opened_ours(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
    try:
        with io.FileIO(descriptor, "w") as file:
            file.write(data)
    except OSError:
        with contextlib.suppress(OSError):
            path.unlink()
        raise


def kept_beside(path: Path, data: bytes, ending: str) -> Path:
    """Keep what a file held in one beside it, named after it; what is kept already stays, under its own name.

    Raises:
        StorageError: The disk refused.
    """
    for number in count(1):
        kept = path.with_name(fitted(path.name, ending if number == 1 else f"{ending}-{number}", path.parent))
        try:
            write_new(kept, data)
        except FileExistsError:
            with contextlib.suppress(OSError):
                if read(kept) == data:
                    return kept
        except OSError as error:
            raise refusal(error, kept) from error
        else:
            return kept
    raise AssertionError(path)  # the numbers have no end


def renamed(path: Path, other: Path) -> None:
    """Give a file another name, which must not be taken; raises OSError."""
    if os.path.lexists(other):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(other))
    path.rename(other)


def check_not_read_only(path: Path, found: os.stat_result | None = None) -> None:
    """Raise StorageError where nobody may write to a file; OSError where it is not there and not `found` yet."""
    if is_read_only(path.stat() if found is None else found):
        raise StorageError("the file is read-only", place=str(path), hint="chmod u+w it, or write elsewhere")


def is_read_only(found: os.stat_result) -> bool:
    """Whether nobody may write to a file, by its mode."""
    return not found.st_mode & 0o222


def _made(target: Path, mode: int | None) -> _Whole:
    """A new file beside a target."""
    while True:
        file = _Whole(temporary(target), mode)
        if hold(file.fileno(), file.path):
            return file
        file.close()


class _Whole(io.FileIO):
    """A file that did not exist before, and writes all it is given.

    Attributes:
        path: Where it is.
    """

    def __init__(self, path: Path, mode: int | None) -> None:
        flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
        super().__init__(os.open(path, flags, 0o666 if mode is None else mode), "r+")
        self.path = path

    def write(self, data: Buffer, /) -> int:
        """Write all of it; raises OSError."""
        view = memoryview(data).cast("B")
        written = 0
        while written < len(view):
            written += os.write(self.fileno(), view[written:])
        return written


def _standing(target: Path) -> os.stat_result | None:
    """The plain file that stands there; raises OSError for anything else."""
    try:
        found = target.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(found.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    if not stat.S_ISREG(found.st_mode):
        raise StrangeFileError(target, KINDS.get(stat.S_IFMT(found.st_mode), "not a plain file"))
    return found


def _keep(descriptor: int, target: Path, before: os.stat_result) -> None:
    """Give a new file the group, owner, extended attributes and mode of the one that it replaces.

    Where the group cannot be kept, the new one may do what others may, so that no one is let in.
    """
    ours, mode = os.fstat(descriptor), stat.S_IMODE(before.st_mode)
    if before.st_gid != ours.st_gid:
        try:
            os.fchown(descriptor, -1, before.st_gid)
        except OSError:
            mode = mode & ~0o2070 | (mode & 0o007) << 3
    if before.st_uid != ours.st_uid:
        try:
            os.fchown(descriptor, before.st_uid, -1)
        except OSError:
            mode &= ~0o4000
    for name in _attributes(target):
        with contextlib.suppress(OSError):
            os.setxattr(descriptor, name, os.getxattr(target, name))
    os.fchmod(descriptor, mode)


def _attributes(target: Path) -> list[str]:
    """Names of the extended attributes of a file, where the system knows any."""
    try:
        return os.listxattr(target)
    except (OSError, AttributeError):
        return []


def _mode_of(file: Path | None) -> int | None:
    """The mode for a side file of a document: what may be done with that one."""
    try:
        return None if file is None else file.stat().st_mode & 0o666
    except OSError:
        return 0o600


def sync_folder(folder: Path) -> None:
    """Put a file's new name on the disk too, where folders can be synced: the file itself is in its place."""
    try:
        descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        if error.errno not in UNSYNCED:
            raise
