"""The tables of the phrase book, and a phrase put into them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.figures import MOMENTS

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping

CALLED = "phrase book"

TOLD = ("name", "tags", "remark", "source")
"""Columns of what the player says."""

FOUND = ("chords", "degrees", "contour", "rhythm", "rhythm_name", "metre", "key", "measures", "tempo", "percent")
"""Columns of an entry, in the order of its fields."""

KEPT = ("kept", "identity", "changes", "steps", "length", "words")
MEASURED = (*(f"c{number}" for number in range(MOMENTS)), *(f"d{number}" for number in range(12)))
COLUMNS = (*TOLD, *FOUND, *KEPT)
"""All columns of a phrase, beside the number; what likeness is measured by stands in a narrow table of its own."""

FIRST = f"""
CREATE TABLE phrase (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    {", ".join(f"{name} TEXT NOT NULL" for name in COLUMNS if name not in ("measures", "percent"))},
    measures INTEGER NOT NULL,
    percent REAL NOT NULL
);
CREATE INDEX phrase_by_identity ON phrase (identity, chords);
CREATE TABLE curve (
    phrase INTEGER PRIMARY KEY REFERENCES phrase,
    {", ".join(f"{name} INTEGER NOT NULL" for name in MEASURED)}
);
CREATE TABLE music (phrase INTEGER PRIMARY KEY REFERENCES phrase ON DELETE CASCADE, score TEXT NOT NULL);
"""

STEPS = (FIRST,)
"""What makes each version of the database of the one before."""


def insert(
    connection: sqlite3.Connection, columns: Mapping[str, str | float], music: str, number: int | None = None
) -> int:
    """Put a phrase in, under a number that is free or (None) a new one; gives the number."""
    number = _put(connection, "phrase", {"id": number, **{name: columns[name] for name in COLUMNS}})
    _put(connection, "curve", {"phrase": number, **{name: columns[name] for name in MEASURED}})
    _put(connection, "music", {"phrase": number, "score": music})
    return number


def _put(connection: sqlite3.Connection, table: str, values: Mapping[str, str | float | None]) -> int:
    """A new row of a table; gives its number."""
    marks = ", ".join("?" * len(values))
    statement = f"INSERT INTO {table} ({', '.join(values)}) VALUES ({marks})"  # noqa: S608 - our own names
    return int(connection.execute(statement, [*values.values()]).lastrowid or 0)
