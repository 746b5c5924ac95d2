"""A damaged phrase book mended: what can be read of it and of the copy beside it goes into a new one."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from tabterm.errors import FormatError
from tabterm.parsing import json_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.storage.database import Database

Row = tuple[object, ...]

LEAST_BYTES = 256
"""A phrase takes more of the file than that: so many numbers are tried where nothing tells the highest."""


def mend(damaged: Database, copy: Database) -> str:
    """Put a new book in place of a damaged one, and say what was kept, in a line.

    Raises:
        StorageError: The disk refused; all is as it was.
    """
    counts: list[int] = []

    def save(connection: sqlite3.Connection, fresh: Database) -> None:
        kept = [*_readable(connection, damaged.file.stat().st_size)]
        with fresh.writing() as new:
            known = {_known(row) for row in kept}
            counts.append(sum(_put(new, row) for row in kept))
            counts.append(sum(_put(new, row) for row in _of_copy(copy) if _known(row) not in known))

    aside = damaged.mend(save)
    if aside is None:
        return f"the {damaged.called} was damaged, and another program has mended it"
    found, added = counts
    more = f", {added} came from its copy" if added else ""
    return f"the {damaged.called} was damaged: {found} phrases were read{more}; it is kept as {aside.name}"


def _readable(connection: sqlite3.Connection, size: int) -> Iterator[Row]:
    """The rows that can be read, one by one, each with its music behind its columns."""
    for number in range(1, _highest(connection, size) + 1):
        with suppress(sqlite3.Error):
            row = connection.execute(
                "SELECT phrase.*, score FROM phrase JOIN music ON phrase = id WHERE id = ?", (number,)
            ).fetchone()
            if row is not None and _is_music(row[-1]):
                yield row


def _highest(connection: sqlite3.Connection, size: int) -> int:
    """The highest number that a phrase can have."""
    most = size // LEAST_BYTES
    for asked in ("SELECT seq FROM sqlite_sequence WHERE name = 'phrase'", "SELECT max(id) FROM phrase"):
        with suppress(sqlite3.Error, TypeError, ValueError):
            return max(min(int(connection.execute(asked).fetchone()[0]), 100 * most), 0)
    return most


def _is_music(text: object) -> bool:
    try:
        return isinstance(text, str) and isinstance(json_of(text.encode()), dict)
    except FormatError:
        return False


def _of_copy(copy: Database) -> list[Row]:
    with suppress(OSError, sqlite3.Error):
        if copy.file.exists():
            with closing(sqlite3.connect(f"{copy.file.absolute().as_uri()}?mode=ro", uri=True)) as connection:
                return [*_readable(connection, copy.file.stat().st_size)]
    return []


def _known(row: Row) -> Row:
    """What tells a phrase from others: its name and its music."""
    return row[1], row[-1]


def _put(connection: sqlite3.Connection, row: Row) -> bool:
    """Write a row into the new book, under its number where that is free; whether it could be."""
    number, *columns, music = row
    marks = ", ".join("?" * len(columns))
    taken = connection.execute("SELECT 1 FROM phrase WHERE id = ?", (number,)).fetchone()
    with suppress(sqlite3.Error):
        statement = f"INSERT INTO phrase VALUES (?, {marks})"  # noqa: S608 - question marks
        added = connection.execute(statement, (None if taken else number, *columns)).lastrowid
        connection.execute("INSERT INTO music VALUES (?, ?)", (added, music))
        return True
    return False
