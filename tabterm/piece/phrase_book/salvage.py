"""A damaged phrase book mended: what can be read of it and of the copy beside it goes into a new one."""

from __future__ import annotations

import math
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

MOST_BEFORE = 24
"""Bytes before a phrase's music that can hold its number."""

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
        kept = [*_readable(connection, damaged.file.stat().st_size)] or _lying_about(damaged.file)
        with fresh.writing() as new:
            known = {_known(row) for row in kept}
            counts.append(sum(_put(new, row) for row in kept))
            counts.append(sum(_put(new, row) for row in _of_copy(copy) if _known(row) not in known))
            _count_on(new, _last_given(connection, damaged.file.stat().st_size) or 0)

    aside = damaged.mend(save)
    if aside is None:
        return f"the {damaged.called} was damaged; another program has repaired it"
    found, added = counts
    more = f", {added} from its copy" if added else ""
    kept = f"the damaged file is kept as {aside.name}"
    return f"the {damaged.called} was damaged: {found} phrases recovered{more}; {kept}"


def _readable(connection: sqlite3.Connection, size: int) -> Iterator[Row]:
    """The rows that can be read, one by one, each with its music behind its columns."""
    last = _last_given(connection, size)
    for number in range(1, (size // LEAST_BYTES if last is None else last) + 1):
        row = _row(connection, READ, number)
        if _is_music(row.get("score")):
            yield _row(connection, CURVE, number) | row


def _lying_about(file: Path) -> list[Row]:
    """Phrases whose music lies whole in a file that no table leads to, those with a number first, each once.

    How hard they are is told for any hand.
    """
    rows: list[Row] = []
    data = read(file, most=MOST_DAMAGED, ours=True)
    for found in MUSIC.finditer(data):
        with suppress(TabtermError):
            phrase = native.read(found[0])
            number = _number_before(data[max(found.start() - MOST_BEFORE, 0) : found.start()], len(found[0]))
            rows.append(facts(phrase, Player()) | {"id": number, "score": found[0].decode()})
    rows.sort(key=lambda row: row["id"] or math.inf)
    return [*{_known(row): row for row in reversed(rows)}.values()][::-1]


def _number_before(data: bytes, size: int) -> int | None:
    """The number of a row of music, from the bytes before its `size` bytes of text; None where they are not whole.

    A cell of a table is the bytes of its record, the number of its row, the record's header (its length, a byte
    for the number that is not repeated, the kind of the text) and the text, in variable-length integers (SQLite's
    description of its file format, "B-tree Pages" and "Record Format").
    """
    kind = _variable(2 * size + 13)
    header = bytes((len(kind) + 2, 0)) + kind
    if not data.endswith(header):
        return None
    before = data[: -len(header)]
    for length in range(1, MOST_BEFORE):
        number = before[-length:]
        if before[:-length].endswith(_variable(len(header) + size)):
            value = 0
            for byte in number:
                value = value << 7 | byte & 0x7F
            return value if _variable(value) == number else None
    return None


def _variable(value: int) -> bytes:
    """A number in SQLite's variable-length form: seven bits a byte, the high bit on all but the last."""
    found = [value & 0x7F]
    while value := value >> 7:
        found.insert(0, value & 0x7F | 0x80)
    return bytes(found)


def _row(connection: sqlite3.Connection, asked: str, number: int) -> Row:
    """A row by the names of its columns; empty where it cannot be read or is not there."""
    with suppress(sqlite3.Error):
        found = connection.execute(asked, (number,))
        row = found.fetchone()
        return {} if row is None else dict(zip([each[0] for each in found.description], row, strict=True))
    return {}


def _last_given(connection: sqlite3.Connection, size: int) -> int | None:
    """The highest number that a phrase was given; None where nothing tells it."""
    for asked in ("SELECT seq FROM sqlite_sequence WHERE name = 'phrase'", "SELECT max(id) FROM phrase"):
        with suppress(sqlite3.Error, TypeError, ValueError):
            return max(min(int(connection.execute(asked).fetchone()[0]), 100 * size // LEAST_BYTES), 0)
    return None


def _count_on(connection: sqlite3.Connection, last: int) -> None:
    """Let the next phrase have a number behind the last one, and behind those that are there."""
    last = max(last, connection.execute("SELECT max(id) FROM phrase").fetchone()[0] or 0)
    connection.execute("DELETE FROM sqlite_sequence WHERE name = 'phrase'")
    connection.execute("INSERT INTO sqlite_sequence VALUES ('phrase', ?)", (last,))


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
    asked = "SELECT 1 FROM phrase WHERE id = ?"
    free = row["id"] and not connection.execute(asked, (row["id"],)).fetchone()
    with suppress(sqlite3.Error, TabtermError):
        curve = {} if "c0" in row else measured(figure(native.read(row["score"].encode())))
        insert(connection, row | curve, row["score"], row["id"] if free else None)
        return True
    return False
