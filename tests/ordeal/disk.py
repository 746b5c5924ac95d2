"""A disk that fails on purpose: calls under one folder refuse, tear, or are forgotten when the power goes.

It stands between the program and the system's calls. What a power cut leaves is worked out from what was synced:
the bytes of a file at its last sync with any part of what was written later, and the names of a folder at its last
sync with any of the later ones, in any choice. (POSIX, fsync: what is not synced may be lost, in any order.)
"""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

REFUSALS = (errno.ENOSPC, errno.EIO, errno.EDQUOT, errno.EROFS)
CALLS = ("open", "write", "fsync", "fdatasync", "ftruncate", "replace", "rename", "unlink", "mkdir")


class Disk:
    """The folder under test.

    Attributes:
        faults: How often a call refuses, 0 to 1.
        refused: How many calls have.
    """

    def __init__(self, root: Path, draw: random.Random, faults: float) -> None:
        self.root = root
        self.faults = faults
        self.refused = 0
        self._draw = draw
        self._real = {name: getattr(os, name) for name in CALLS}
        self._synced: dict[int, bytes] = {}
        self._names: dict[Path, int] = {}
        self._pending: dict[Path, list[tuple[Path, int | None]]] = {}
        self._kept: dict[int, int] = {}

    @contextmanager
    def mounted(self) -> Iterator[None]:
        """Stand between the program and the system."""
        for name in CALLS:
            setattr(os, name, getattr(self, f"_{name}"))
        try:
            yield
        finally:
            for name, real in self._real.items():
                setattr(os, name, real)

    def cut_power(self) -> None:
        """Leave what a power cut leaves; the program must have let its files go."""
        names = dict(self._names)
        for operations in self._pending.values():
            for name, inode in operations:
                if self._draw.random() < 0.5:
                    names.pop(name, None)
                    if inode is not None:
                        names[name] = inode
        left = {name: self._left_of(inode) for name, inode in names.items()}
        folders = [path for path in self.root.rglob("*") if path.is_dir()]
        for path in (path for path in self.root.rglob("*") if not path.is_dir()):
            path.unlink()
        for folder in folders:
            folder.mkdir(exist_ok=True)
        for name, data in left.items():
            if name.parent.is_dir():
                name.write_bytes(data)
                name.chmod(0o600)

    def close(self) -> None:
        """Let go of what was held to know the bytes of files without a name."""
        for descriptor in self._kept.values():
            os.close(descriptor)
        self._kept.clear()
        shutil.rmtree(self.root, ignore_errors=True)

    def _left_of(self, inode: int) -> bytes:
        """The synced bytes of a file, and any part of what was written after them."""
        synced = self._synced.get(inode, b"")
        now = self._bytes_of(inode)
        if not now.startswith(synced):
            return self._draw.choice([synced, now])
        return now[: self._draw.randint(len(synced), len(now))]

    def _bytes_of(self, inode: int) -> bytes:
        descriptor = self._kept.get(inode)
        return b"" if descriptor is None else os.pread(descriptor, os.fstat(descriptor).st_size, 0)

    def _is_ours(self, path: object) -> bool:
        return isinstance(path, str | os.PathLike) and self.root in Path(path).absolute().parents

    def _refuse(self, path: object) -> None:
        if self._draw.random() < self.faults:
            self.refused += 1
            number = self._draw.choice(REFUSALS)
            raise OSError(number, os.strerror(number), str(path))

    def _path_of(self, descriptor: int) -> Path:
        return Path(f"/proc/self/fd/{descriptor}").readlink()

    def _note(self, path: object, inode: int | None) -> None:
        name = Path(str(path)).absolute()
        self._pending.setdefault(name.parent, []).append((name, inode))

    def _open(self, path, flags, mode=0o777, **how):  # type: ignore[no-untyped-def]
        if not self._is_ours(path):
            return self._real["open"](path, flags, mode, **how)
        makes = flags & os.O_CREAT and not os.path.lexists(path)
        if makes or flags & (os.O_WRONLY | os.O_RDWR):
            self._refuse(path)
        descriptor = self._real["open"](path, flags, mode, **how)
        inode = os.fstat(descriptor).st_ino
        if makes:
            self._note(path, inode)
            self._synced.pop(inode, None)
            if inode in self._kept:
                os.close(self._kept.pop(inode))
        if inode not in self._kept and not Path(path).is_dir():
            self._kept[inode] = self._real["open"](path, os.O_RDONLY)
        return descriptor

    def _write(self, descriptor, data):  # type: ignore[no-untyped-def]
        path = self._path_of(descriptor)
        if self._is_ours(path):
            try:
                self._refuse(path)
            except OSError:
                part = bytes(data)[: self._draw.randint(0, len(data))]
                if self._draw.random() < 0.5:
                    self._real["write"](descriptor, part)
                raise
        return self._real["write"](descriptor, data)

    def _synced_by(self, name, descriptor):  # type: ignore[no-untyped-def]
        path = self._path_of(descriptor)
        if self._is_ours(path) or path == self.root:
            self._refuse(path)
            if path.is_dir():
                for each, inode in self._pending.pop(path, []):
                    self._names.pop(each, None)
                    if inode is not None:
                        self._names[each] = inode
            else:
                inode = os.fstat(descriptor).st_ino
                self._synced[inode] = self._bytes_of(inode)
        return self._real[name](descriptor)

    def _fsync(self, descriptor):  # type: ignore[no-untyped-def]
        return self._synced_by("fsync", descriptor)

    def _fdatasync(self, descriptor):  # type: ignore[no-untyped-def]
        return self._synced_by("fdatasync", descriptor)

    def _ftruncate(self, descriptor, size):  # type: ignore[no-untyped-def]
        path = self._path_of(descriptor)
        if self._is_ours(path):
            self._refuse(path)
        return self._real["ftruncate"](descriptor, size)

    def _moved(self, name, one, other):  # type: ignore[no-untyped-def]
        if self._is_ours(one):
            self._refuse(other)
            inode = os.lstat(one).st_ino
            self._real[name](one, other)
            self._note(one, None)
            self._note(other, inode)
            return None
        return self._real[name](one, other)

    def _replace(self, one, other, **_how):  # type: ignore[no-untyped-def]
        return self._moved("replace", one, other)

    def _rename(self, one, other, **_how):  # type: ignore[no-untyped-def]
        return self._moved("rename", one, other)

    def _unlink(self, path, **how):  # type: ignore[no-untyped-def]
        if self._is_ours(path):
            self._refuse(path)
            self._real["unlink"](path, **how)
            self._note(path, None)
            return None
        return self._real["unlink"](path, **how)

    def _mkdir(self, path, mode=0o777, **how):  # type: ignore[no-untyped-def]
        return self._real["mkdir"](path, mode, **how)
