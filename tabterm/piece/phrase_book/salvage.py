"""A damaged phrase book mended: what can be read of it and of the copy beside it goes into a new one."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError, TabtermError
from tabterm.formats import native
from tabterm.hand.player import Player
from tabterm.parsing import json_of
from tabterm.piece.phrase_book.entry import facts, figure, measured
from tabterm.piece.phrase_book.tables import insert
from tabterm.storage.database import MOST_DAMAGED
from tabterm.storage.opening import read

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tabterm.storage.database import Database

Row = dict[str, Any]
"""A phrase by its columns, with its number as `id` and its music as `score`."""

LEAST_BYTES = 256
"""A phrase takes more of the file than that: so many numbers are tried where nothing tells the highest."""

READ = "SELECT phrase.*, score FROM phrase JOIN music ON music.phrase = id WHERE id = ?"
CURVE = "SELECT * FROM curve WHERE phrase = ?"
MUSIC = re.compile(rb'\{"format": "tabterm", "version": \d+,\n.{,100000}?\n\]\}\n', re.DOTALL)
"""A native file as it lies between other bytes."""


def mend(damaged: Database, copy: Database) -> str:
    """Put a new book in place of a damaged one, and say what was kept, in a line.

    Raises:
        StorageError: The disk refused; all is as it was.
    """
    counts: list[int] = []

    def save(connection: sqlite3.Connection, fresh: Database) -> None:
        kept = [*_readable(connection, damaged.file.stat().st_size)] or [*_lying_about(damaged.file)]
        with fresh.writing() as new:
            known = {_known(row) for row in kept}
            counts.append(sum(_put(new, row) for row in kept))
            counts.append(sum(_put(new, row) for row in _of_copy(copy) if _known(row) not in known))

    aside = damaged.mend(save)
    if aside is None:
        return f"the {damaged.called} was damaged, and another program has repaired it"
    found, added = counts
    more = f", {added} came from its copy" if added else ""
    return f"the {damaged.called} was damaged: {found} phrases were read{more}; it is kept as {aside.name}"


def _readable(connection: sqlite3.Connection, size: int) -> Iterator[Row]:
    """The rows that can be read, one by one, each with its music behind its columns."""
    for number in range(1, _highest(connection, size) + 1):
        row = _row(connection, READ, number)
        if _is_music(row.get("score")):
            yield _row(connection, CURVE, number) | row


def _lying_about(file: Path) -> Iterator[Row]:
    """Phrases whose music lies whole in a file that no table leads to; how hard they are is told for any hand."""
    for number, found in enumerate(MUSIC.finditer(read(file, most=MOST_DAMAGED, ours=True)), 1):
        with suppress(TabtermError):
            phrase = native.read(found[0])
            yield facts(phrase, Player()) | {"id": number, "score": found[0].decode()}


def _row(connection: sqlite3.Connection, asked: str, number: int) -> Row:
    """A row by the names of its columns; empty where it cannot be read or is not there."""
    with suppress(sqlite3.Error):
        found = connection.execute(asked, (number,))
        row = found.fetchone()
        return {} if row is None else dict(zip([each[0] for each in found.description], row, strict=True))
    return {}


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


def _known(row: Row) -> tuple[str, str]:
    """What tells a phrase from others: its name and its music."""
    return row["name"], row["score"]


def _put(connection: sqlite3.Connection, row: Row) -> bool:
    """Write a row into the new book, under its number where that is free; whether it could be."""
    taken = connection.execute("SELECT 1 FROM phrase WHERE id = ?", (row["id"],)).fetchone()
    with suppress(sqlite3.Error, TabtermError):
        curve = {} if "c0" in row else measured(figure(native.read(row["score"].encode())))
        insert(connection, row | curve, row["score"], None if taken else row["id"])
        return True
    return False
