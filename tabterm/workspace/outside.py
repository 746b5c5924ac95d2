"""Whether another program has touched a document's file since it was read or written here."""

from __future__ import annotations

from dataclasses import field
from enum import StrEnum
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import StorageError
from tabterm.storage import opening
from tabterm.storage.whole import is_read_only
from tabterm.workspace.records import digest_of

if TYPE_CHECKING:
    from pathlib import Path

Stamp = tuple[int, int, int, int]
"""Device, inode, size, and the time of the last change in ns: what differs when a file is written."""


class Doubt(StrEnum):
    """Why a save is not carried out before the player has chosen."""

    CHANGED = "changed"
    GONE = "gone"
    LINKED = "linked"
    READ_ONLY = "read-only"


WORDS = {
    Doubt.CHANGED: "another program has changed {name} since you opened it",
    Doubt.GONE: "another program has moved or removed {name}",
    Doubt.LINKED: "{name} has hard links; they would keep the old music",
    Doubt.READ_ONLY: "{name} is read-only",
}


class DoubtError(StorageError):
    """Nothing was written: the player chooses first."""

    def __init__(self, doubt: Doubt, path: Path) -> None:
        super().__init__(words(doubt, path), hint="save-over, save-beside or take-theirs")
        self.doubt = doubt


def words(doubt: Doubt, path: Path) -> str:
    """A doubt in a sentence."""
    return WORDS[doubt].format(name=path.name)


@dataclass
class Watch:
    """A file as it was last seen.

    Attributes:
        path: The file.
        digest: Of its bytes; "" where there was none.
    """

    path: Path
    digest: str = ""
    _tried: set[str] = field(default_factory=set)
    _stamp: Stamp | None = None

    def saw(self, data: bytes | None) -> None:
        """Its bytes have been read or written."""
        self.digest = "" if data is None else digest_of(data)
        self._stamp = _stamp(self.path)
        self._tried.clear()

    def tried(self, digest: str) -> None:
        """A save of these bytes failed, and may have come so far that they are there."""
        self._tried.add(digest)

    def look(self, *, closely: bool = False) -> Doubt | None:
        """What has happened to it; looks at its bytes where its stamp differs, or when asked to look closely."""
        stamp = _stamp(self.path)
        if stamp == self._stamp and not (closely and stamp):
            return None
        if stamp is None:
            return Doubt.GONE if self.digest and self.path.parent.is_dir() else None
        try:
            same = digest_of(opening.read(self.path)) in {self.digest, *self._tried}
        except OSError:
            same = False
        if same:
            self._stamp = stamp
        return None if same else Doubt.CHANGED


def doubt_to_replace(path: Path) -> Doubt | None:
    """Why a file should not be replaced without a question."""
    try:
        found = path.stat()
    except OSError:
        return None
    if is_read_only(found):
        return Doubt.READ_ONLY
    return Doubt.LINKED if found.st_nlink > 1 else None


def _stamp(path: Path) -> Stamp | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns
