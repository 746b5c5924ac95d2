"""The user's databases (SQLite): opened for this user alone, brought to today's version, copied, mended.

Each reading and each writing is a connection and a transaction of its own, so that several programs can share a
file: a writer waits for the others for `patience_s`, and one that is killed leaves the file as it was.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager, suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import StorageError
from tabterm.storage.lock import Lock
from tabterm.storage.opening import make_own_folder, make_private, opened_ours, read
from tabterm.storage.temporaries import clear_stale, hold, temporary
from tabterm.storage.whole import atomic_write, kept_beside, sync_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

LONGEST_VALUE = 1_000_000
"""Bytes of a value, or of a row."""

MOST_DAMAGED = 1 << 30
"""Bytes of a damaged file that are set aside."""

DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
BUSY = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)

REASONS = {
    sqlite3.SQLITE_READONLY: ("it is write-protected", "change its permissions"),
    sqlite3.SQLITE_PERM: ("it is write-protected", "change its permissions"),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "check its folder"),
    sqlite3.SQLITE_IOERR: ("the disk has an error", "check the disk"),
    sqlite3.SQLITE_FULL: ("the disk is full", "make room"),
    sqlite3.SQLITE_TOOBIG: ("it is damaged", "rename it, and tabterm starts a new one"),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "rename it, and tabterm starts a new one"),
}
"""What the disk says, and what to do, by SQLite's primary result codes."""


class DamagedError(StorageError):
    """The file is not a database any more, or not all of it."""


@dataclass(frozen=True, slots=True)
class Database:
    """A database in a file of the user's; everything here raises StorageError where that cannot be used.

    Attributes:
        file: Where.
        called: What a player calls it: `practice log`.
        steps: The statements that bring an empty file to version 1, that to version 2, and so on.
        patience_s: How long a lock of another program is waited for, in seconds; the keys wait as well.
        when_busy: What to do where that was not long enough.
    """

    file: Path
    called: str
    steps: tuple[str, ...]
    patience_s: float
    when_busy: str = "try again"

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection | None]:
        """A connection to ask; None where there is no file yet."""
        with self._in_words("read"):
            if not self.file.exists():
                yield None
                return
            with closing(self._opened()) as connection:
                yield connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A connection in a transaction, which is kept when the block ends well and forgotten when it does not."""
        with self._in_words("written"):
            make_own_folder(self.file.parent)
            with closing(self._opened()) as connection:
                connection.execute("BEGIN IMMEDIATE")
                yield connection
                connection.execute("COMMIT")

    def copy_to(self, file: Path) -> None:
        """Write the database as it stands, whatever is being written to it, into another file."""
        with self._in_words("copied"), closing(self._opened()) as connection, _beside(file) as new:
            with closing(sqlite3.connect(new)) as other:
                connection.backup(other)
            new.replace(file)
            sync_folder(file.parent)

    def check(self) -> None:
        """Look through the whole file; raises DamagedError where it is not whole."""
        with self.reading() as connection:
            found = connection.execute("PRAGMA quick_check(1)").fetchone()[0] if connection else "ok"
        if found != "ok":
            raise DamagedError(f"the {self.called} is damaged", place=str(self.file))

    def mend(self, save: Callable[[sqlite3.Connection, Database], None]) -> Path | None:
        """Put a new database in place of a damaged one, which is set aside; gives the name of that.

        None where somebody else has mended it meanwhile.

        Args:
            save: Moves what can be read of the damaged connection into the new database.
        """
        with self._in_words("repaired"):
            lock = Lock.take(self.file)
            if not isinstance(lock, Lock):
                raise StorageError(f"the {self.called} is being repaired by {lock}", hint="try again")
            try:
                self.check()
            except DamagedError:
                return self._mended(save)
            else:
                return None
            finally:
                lock.release()

    def _mended(self, save: Callable[[sqlite3.Connection, Database], None]) -> Path:
        aside = kept_beside(self.file, read(self.file, most=MOST_DAMAGED, ours=True), ".damaged")
        with _beside(self.file) as new:
            fresh = replace(self, file=new)
            with fresh.writing():
                pass
            with closing(sqlite3.connect(f"{aside.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as damaged:
                damaged.text_factory = lambda data: data.decode("utf-8", "replace")
                save(damaged, fresh)
            self.file.with_name(f"{self.file.name}-journal").unlink(missing_ok=True)  # of the damaged file
            new.replace(self.file)
            sync_folder(self.file.parent)
        return aside

    def _opened(self) -> sqlite3.Connection:
        make_private(self.file)
        connection = sqlite3.connect(self.file, timeout=self.patience_s, isolation_level=None)
        try:
            connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE)
            self._bring_up(connection)
        except BaseException:
            connection.close()
            raise
        return connection

    def _bring_up(self, connection: sqlite3.Connection) -> None:
        """Make the tables of a new file, or those of an older version into today's."""
        version = _version(connection)
        if version > len(self.steps):
            message = f"the {self.called} was written by a newer tabterm"
            raise StorageError(message, place=str(self.file), hint="use that version")
        if version == len(self.steps):
            return
        if version:
            atomic_write(self.file.with_name(f"{self.file.name}.version-{version}"), read(self.file, ours=True))
        connection.execute("BEGIN IMMEDIATE")
        version = _version(connection)  # another program may have brought it up meanwhile
        if not version and connection.execute("SELECT 1 FROM sqlite_master").fetchone():
            raise StorageError(
                f"it is not a {self.called}", place=str(self.file), hint="rename it, and tabterm starts a new one"
            )
        for step in self.steps[version:]:
            for statement in step.split(";")[:-1]:
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {len(self.steps)}")
        connection.execute("COMMIT")

    @contextmanager
    def _in_words(self, done: str) -> Iterator[None]:
        try:
            yield
        except (OSError, sqlite3.Error, ValueError, TypeError) as error:
            raise self._said(error, done) from error

    def _said(self, error: Exception, done: str) -> StorageError:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        said = getattr(error, "strerror", None) or str(error)
        reason, hint = REASONS.get(code, (said, "check its folder"))
        if code in BUSY:
            reason, hint = "another program is writing to it", self.when_busy
        if code == sqlite3.SQLITE_NOTADB:
            reason, hint = f"it is not a {self.called}", "rename it, and tabterm starts a new one"
        kind = DamagedError if code in DAMAGED else StorageError
        return kind(f"the {self.called} cannot be {done}: {reason}", place=str(self.file), hint=hint)


@contextmanager
def _beside(file: Path) -> Iterator[Path]:
    """A new private file beside one, locked while the block fills it; gone behind it unless it has a new name."""
    clear_stale(file)
    new = temporary(file)
    make_private(new)
    descriptor = opened_ours(new, os.O_RDONLY)
    try:
        hold(descriptor, new)
        yield new
    finally:
        with suppress(OSError):
            new.unlink(missing_ok=True)
        os.close(descriptor)


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
