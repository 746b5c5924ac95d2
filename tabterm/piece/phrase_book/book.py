"""The phrase book in its file: phrases added, found and removed, by several programs at once; damage mended.

Each search is one statement; nothing is kept in memory between two.
"""

from __future__ import annotations

import time
from contextlib import suppress
from dataclasses import field
from typing import TYPE_CHECKING, Any, TypeVar

import platformdirs

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, ScoreError, StorageError
from tabterm.formats import native
from tabterm.piece.phrase_book import salvage
from tabterm.piece.phrase_book.entry import Entry, Label, facts, labelled
from tabterm.piece.phrase_book.tables import CALLED, FOUND, STEPS, TOLD, insert
from tabterm.storage.database import DamagedError, Database

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from pathlib import Path

    from tabterm.hand.player import Player
    from tabterm.piece.phrase_book.wish import Wish
    from tabterm.score.model import Score

T = TypeVar("T")

PATIENCE_S = 2.0
"""How long another program that writes is waited for."""

DAY_S = 86_400
"""The copy that is kept beside the book is made anew before the first change of a day."""

MOST_PERCENT = 10_000.0
"""Of a phrase that no hand can play."""

LIMIT = 50
"""Phrases that a search gives, where it is not told another number."""


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase that was found.

    Attributes:
        entry: The phrase.
        apart: How far it is from the phrase that it was to be like, in semitones; None where none was named.
        fit: How it fits the chords that it was to fit: SAME_TIME, SAME_CHORDS or SAME_STEPS; None where none were.
    """

    entry: Entry
    apart: float | None = None
    fit: int | None = None


def path() -> Path:
    """Where the book is kept."""
    return platformdirs.user_data_path("tabterm") / "phrases.sqlite"


@dataclass
class Book:
    """The book in a file; everything raises StorageError, in one line, where that cannot be used.

    Attributes:
        file: Where; the user's own book unless another is named.
        notes: What was noticed and done about damage, until somebody has read it.
    """

    file: Path = field(default_factory=path)
    notes: list[str] = field(default_factory=list)

    @property
    def copy(self) -> Path:
        """The copy that is kept beside it."""
        return self.file.with_name(f"{self.file.name}.copy")

    @property
    def _database(self) -> Database:
        return Database(self.file, CALLED, STEPS, PATIENCE_S)

    def add(self, phrase: Score, label: Label, player: Player, *, again: bool = False) -> Entry:
        """Keep a phrase.

        Args:
            phrase: Its score, as `entry.cut_out` makes it.
            label: What the player says of it.
            player: Whose hands say how hard it is.
            again: Keep it although the same phrase over the same chords is kept.

        Raises:
            ScoreError: It has no name, is silent, or is kept already.
        """
        if not label.name:
            raise ScoreError("the phrase has no name", hint="type one, and #tags after it if you like")
        music = labelled(phrase, label)
        columns = facts(music, player)

        def kept(connection: sqlite3.Connection) -> Entry:
            same = self._same(connection, columns)
            if same is not None and not again:
                raise ScoreError(f"the book already has this phrase: {same[0]} {same[1]}", hint="search for it")
            return _entry(insert(connection, columns, native.write(music).decode()), columns)

        return self._write(kept)

    def add_new(self, phrases: Iterable[Score], player: Player) -> tuple[int, int]:
        """Keep scores of phrases as their heads name them, in one go; gives how many were new, how many known."""
        ready = [(each, facts(each, player)) for each in phrases]

        def kept(connection: sqlite3.Connection) -> tuple[int, int]:
            new = 0
            for music, columns in ready:
                if self._same(connection, columns) is None:
                    insert(connection, columns, native.write(music).decode())
                    new += 1
            return new, len(ready) - new

        return self._write(kept)

    def remove(self, *numbers: int) -> None:
        """Remove phrases; raises ScoreError where there is no such number, and then removes none."""

        def removed(connection: sqlite3.Connection) -> None:
            for number in numbers:
                for table in ("music", "curve"):
                    connection.execute(f"DELETE FROM {table} WHERE phrase = ?", (number,))  # noqa: S608
                if not connection.execute("DELETE FROM phrase WHERE id = ?", (number,)).rowcount:
                    raise _none(number)

        self._write(removed)

    def count(self) -> int:
        """How many phrases there are."""
        return self._read(lambda c: int(c.execute("SELECT count(*) FROM phrase").fetchone()[0]), 0)

    def entry(self, number: int) -> Entry:
        """A phrase by its number; raises ScoreError where there is none."""
        asked = f"SELECT id, {', '.join((*TOLD, *FOUND))} FROM phrase WHERE id = ?"  # noqa: S608 - our own columns

        def found(connection: sqlite3.Connection) -> Entry | None:
            row = connection.execute(asked, (number,)).fetchone()
            return None if row is None else _entry_of(row)

        entry = self._read(found, None)
        if entry is None:
            raise _none(number)
        return entry

    def score(self, number: int) -> Score:
        """The music of a phrase.

        Raises:
            ScoreError: No such number.
            StorageError: Its music is damaged.
        """
        asked = "SELECT score FROM music WHERE phrase = ?"
        row = self._read(lambda connection: connection.execute(asked, (number,)).fetchone(), None)
        if row is None:
            raise _none(number)
        try:
            return native.read(str(row[0]).encode())
        except FormatError as error:
            message = f"phrase {number} is damaged: {error.message}"
            raise StorageError(message, place=str(self.file), hint="remove it") from error

    def find(self, wish: Wish, limit: int = LIMIT) -> list[Found]:
        """Phrases that are what is looked for: those that fit best or are most alike first, else by number."""
        conditions = [*wish.conditions()]

        def found(connection: sqlite3.Connection) -> list[Found]:
            lengths = [each for (each,) in connection.execute("SELECT DISTINCT length FROM phrase")]
            (apart, like), (fit, fits) = wish.distance(), wish.fitting(lengths if wish.fits else ())
            tables = "curve" if wish.like and not conditions else "phrase CROSS JOIN curve ON curve.phrase = id"
            statement = f"""
                WITH near AS MATERIALIZED (
                    SELECT curve.phrase AS number, {apart} AS apart, {fit} AS fit FROM {tables}
                    WHERE {" AND ".join(condition for condition, _ in conditions) or "1"})
                SELECT id, {", ".join((*TOLD, *FOUND))}, apart, fit
                FROM (SELECT * FROM near WHERE (apart IS NULL OR apart <= ?) AND (fit IS NOT NULL OR ?)
                      ORDER BY fit, apart, number LIMIT ?) JOIN phrase ON id = number
                ORDER BY fit, apart, id
            """  # noqa: S608 - our own words; what is looked for stands for its question marks
            values = [*like, *fits, *(value for _, given in conditions for value in given)]
            rows = connection.execute(statement, [*values, wish.within, wish.fits is None, limit]).fetchall()
            return [*self._whole(rows)]

        return self._read(found, [])

    def _whole(self, rows: Iterable[Sequence[Any]]) -> Iterator[Found]:
        """What was found, less rows that hold what they cannot."""
        for row in rows:
            try:
                yield Found(_entry_of(row[:-2]), row[-2], row[-1])
            except ValueError as error:
                self.notes.append(f"{error}: remove it")

    def has(self, identities: Sequence[str]) -> set[str]:
        """Those of some identities that phrases of the book have."""
        asked = "SELECT 1 FROM phrase WHERE identity = ?"

        def known(connection: sqlite3.Connection) -> set[str]:
            return {each for each in identities if connection.execute(asked, (each,)).fetchone()}

        return self._read(known, set())

    def copy_to(self, file: Path) -> None:
        """Write a copy of the whole book, which can be put in its place."""
        if not self.file.exists():
            raise StorageError("no phrase book yet", place=str(self.file), hint="keep a phrase first")
        self._mending(lambda: self._database.copy_to(file))

    def _same(
        self, connection: sqlite3.Connection, columns: dict[str, str | int | float]
    ) -> tuple[int, str] | None:
        asked = "SELECT id, name FROM phrase WHERE identity = ? AND chords = ?"
        row: tuple[int, str] | None = connection.execute(
            asked, (columns["identity"], columns["chords"])
        ).fetchone()
        return row

    def _read(self, ask: Callable[[sqlite3.Connection], T], nothing: T) -> T:
        def asked() -> T:
            with self._database.reading() as connection:
                return nothing if connection is None else ask(connection)

        return self._mending(asked)

    def _write(self, change: Callable[[sqlite3.Connection], T]) -> T:
        def changed() -> T:
            self._keep_copy()
            with self._database.writing() as connection:
                return change(connection)

        return self._mending(changed)

    def _keep_copy(self) -> None:
        """Copy the book beside itself, once a day, if it is whole; what the disk refuses, the change says."""
        with suppress(OSError):
            if not self.file.exists() or time.time() - self.copy.stat().st_mtime < DAY_S:
                return
        self._database.check()
        with suppress(StorageError):
            self._database.copy_to(self.copy)

    def _mending(self, act: Callable[[], T]) -> T:
        """Do something; where the file is damaged, mend it and do it then."""
        try:
            return act()
        except DamagedError:
            self.notes.append(salvage.mend(self._database, Database(self.copy, CALLED, STEPS, PATIENCE_S)))
            return act()


def _entry(number: int, columns: dict[str, str | int | float]) -> Entry:
    return _entry_of((number, *(columns[name] for name in (*TOLD, *FOUND))))


def _entry_of(row: Sequence[object]) -> Entry:
    """An entry of a row, which may hold anything in any column; raises ValueError for what it cannot hold."""
    number, name, tags, remark, source, *others = row
    texts = (name, tags, remark, source, *others[:7], others[8])
    percent = others[9]
    fits = isinstance(others[7], int) and isinstance(percent, int | float) and 0 <= percent <= MOST_PERCENT
    if not all(isinstance(each, str) for each in texts) or not fits:
        raise ValueError(f"phrase {number} is damaged")
    label = Label(str(name), tuple(str(tags).split()), str(remark), str(source))
    return Entry(int(str(number)), label, *others)  # type: ignore[arg-type]  # their kinds have been looked at


def _none(number: int) -> ScoreError:
    return ScoreError(f"no phrase {number} in the book", hint="`tabterm phrases` lists the phrases")
