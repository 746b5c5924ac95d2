"""The practice log: which passage of which piece was practised when, and how fast, in a database of the user's.

A piece is known by its file. When the file is renamed or moved, the piece is found again by its title, if the
old file is gone. Each entry is a transaction of its own, so that two editors can write to one log.
"""

from __future__ import annotations

import csv
import io
from dataclasses import field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import platformdirs

from tabterm.dataclass import dataclass
from tabterm.score.duration import Duration
from tabterm.score.tempo import part_of_whole
from tabterm.storage.database import Database

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Iterator

PATIENCE_S = 0.2
"""How long a lock of another program is waited for; the keys wait as well."""

MOST_WAITING = 1000
"""Entries kept in memory while the disk refuses them."""

MOST_ENTRIES = 200_000
"""Of which there are some ten a day."""

MOST_FIGURE = 1e7
"""No tempo, measure, turn or time in seconds is larger."""

LEAST_PERCENT = 0.01
KINDS = (str, str, int, int, str, float, str, float, int, float)
"""What stands in the columns of an entry behind its time."""

SCHEMA = """
CREATE TABLE piece (id INTEGER PRIMARY KEY, title TEXT NOT NULL, file TEXT NOT NULL UNIQUE);
CREATE TABLE entry (
    id INTEGER PRIMARY KEY,
    piece INTEGER NOT NULL REFERENCES piece,
    begun TEXT NOT NULL,
    first_measure INTEGER NOT NULL,
    last_measure INTEGER NOT NULL,
    passage TEXT NOT NULL,
    per_minute REAL NOT NULL,
    beat TEXT NOT NULL,
    percent REAL NOT NULL CHECK (percent > 0),
    turns INTEGER NOT NULL,
    seconds REAL NOT NULL
);
CREATE INDEX entry_of_piece ON entry (piece, begun);
"""

ENTRIES = """
SELECT begun, title, file, first_measure, last_measure, passage, per_minute, beat, percent, turns, seconds
FROM entry JOIN piece ON piece.id = piece
"""


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One time that a passage was practised.

    Attributes:
        begun: When, with the time zone.
        title: The piece's title, "" where it has none.
        file: The piece's file, its real path.
        first_measure: By the player's number.
        last_measure: By the player's number.
        passage: The measures, with the beats where they are not whole: `5-8`, `5.3-6.2`.
        per_minute: The fastest tempo at which a whole turn was played, in beats a minute.
        beat: The note value of those beats: `4.`.
        percent: The same in percent of the written tempo.
        turns: Whole turns, at any tempo.
        seconds: From the first note to the end.
    """

    begun: datetime
    title: str
    file: str
    first_measure: int
    last_measure: int
    passage: str
    per_minute: float
    beat: str
    percent: float
    turns: int
    seconds: float

    @property
    def written_per_minute(self) -> float:
        """The tempo that the score had then, in beats a minute."""
        return 100.0 * self.per_minute / self.percent


def path() -> Path:
    """Where the log is kept."""
    return platformdirs.user_data_path("tabterm") / "practice.sqlite"


@dataclass
class PracticeLog:
    """The log in a file; raises StorageError where that cannot be used, and practice goes on.

    Attributes:
        file: Where; the user's own log unless another is named.
        waiting: Entries that could not be written yet; they go in with the next.
    """

    file: Path = field(default_factory=path)
    waiting: list[LogEntry] = field(default_factory=list)

    def add(self, *entries: LogEntry) -> None:
        """Write entries, and those that wait.

        Raises:
            StorageError: The log cannot be written; the entries wait.
        """
        self.waiting = [*self.waiting, *entries][-MOST_WAITING:]
        if not self.waiting:
            return
        with self._database.writing() as database:
            for entry in self.waiting:
                _insert(database, entry)
        self.waiting.clear()

    def entries(self, file: Path | None = None, title: str = "") -> list[LogEntry]:
        """The entries of a piece, or all of them, in order of time; those that wait are among them.

        Raises:
            StorageError: The log cannot be read.
        """
        found = [*self._read(), *self.waiting]
        if file is not None:
            names = {str(file), *(_lost(found, title) if title else ())}
            found = [entry for entry in found if entry.file in names]
        return sorted(found, key=lambda entry: entry.begun)

    @property
    def _database(self) -> Database:
        return Database(self.file, "practice log", (SCHEMA,), PATIENCE_S, "the next entry saves this one too")

    def _read(self) -> list[LogEntry]:
        with self._database.reading() as database:
            rows = [] if database is None else database.execute(ENTRIES).fetchmany(MOST_ENTRIES)
            return [_entry(number, row) for number, row in enumerate(rows, 1)]


def _entry(number: int, row: tuple[Any, ...]) -> LogEntry:
    """An entry of the database, which may hold anything in any column; raises ValueError for one that is none."""
    begun, *others = row
    figures = [value for value in others if not isinstance(value, str)]
    fits = isinstance(begun, str) and all(map(isinstance, others, KINDS))
    if not fits or not all(0 <= value <= MOST_FIGURE for value in figures) or others[7] < LEAST_PERCENT:
        raise ValueError(f"entry {number} is damaged")
    time = datetime.fromisoformat(begun)
    return LogEntry(time if time.tzinfo else time.astimezone(), *others)


def _insert(database: sqlite3.Connection, entry: LogEntry) -> None:
    database.execute(
        "INSERT INTO entry (piece, begun, first_measure, last_measure, passage, per_minute, beat, percent, "
        "turns, seconds) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            *(_piece(database, entry), entry.begun.isoformat(timespec="seconds")),
            *(entry.first_measure, entry.last_measure, entry.passage),
            *(entry.per_minute, entry.beat, entry.percent, entry.turns, entry.seconds),
        ),
    )


def _piece(database: sqlite3.Connection, entry: LogEntry) -> int:
    """The number of the piece: by its file, or by the title of one whose file has gone, or a new one."""
    known = dict(database.execute("SELECT file, id FROM piece").fetchall())
    number = known.get(entry.file)
    if number is None and entry.title:
        same = database.execute("SELECT id, file FROM piece WHERE title = ?", (entry.title,)).fetchall()
        number = next((each for each, file in same if _is_gone(file)), None)
    if number is None:
        added = database.execute("INSERT INTO piece (title, file) VALUES (?, ?)", (entry.title, entry.file))
        return int(added.lastrowid or 0)
    database.execute("UPDATE piece SET title = ?, file = ? WHERE id = ?", (entry.title, entry.file, number))
    return int(number)


def _lost(entries: Iterable[LogEntry], title: str) -> Iterator[str]:
    """Files of a title that are not there any more."""
    files = {entry.file for entry in entries if entry.title == title}
    return (file for file in files if _is_gone(file))


def _is_gone(file: str) -> bool:
    try:
        return not Path(file).exists()
    except OSError:  # it may not be looked at
        return False


COLUMNS = (
    "day",
    "time",
    "title",
    "file",
    "first_measure",
    "last_measure",
    "passage",
    "beats_per_minute",
    "beat",
    "percent",
    "turns",
    "seconds",
)
"""Heads of the columns of the CSV file."""


def as_csv(entries: Iterable[LogEntry]) -> str:
    """The entries as comma-separated values with a head and CRLF line ends (RFC 4180); a beat is written `3/8`."""
    text = io.StringIO(newline="")
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    for entry in entries:
        rows.writerow(
            (
                *(f"{entry.begun:%Y-%m-%d}", f"{entry.begun:%H:%M:%S}", entry.title, entry.file),
                *(entry.first_measure, entry.last_measure, entry.passage),
                *(f"{entry.per_minute:.1f}", part_of_whole(Duration.parse(entry.beat))),
                *(f"{entry.percent:.1f}", entry.turns),
                f"{entry.seconds:.0f}",
            )
        )
    return text.getvalue()
