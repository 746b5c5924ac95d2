"""The user's databases: shared, brought to today's version, copied, mended, refused in one line."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from tabterm.errors import StorageError
from tabterm.storage import database as module
from tabterm.storage.database import DamagedError, Database
from tests.storage.planting import PLANTS, unharmed

FIRST = "CREATE TABLE word (id INTEGER PRIMARY KEY, text TEXT NOT NULL);"
SECOND = "ALTER TABLE word ADD COLUMN size INTEGER NOT NULL DEFAULT 0; UPDATE word SET size = length(text);"


def database(tmp_path, *steps, **more):
    return Database(tmp_path / "folder" / "words.sqlite", "word list", steps or (FIRST,), 0.05, **more)


def add(words, *texts):
    with words.writing() as connection:
        connection.executemany("INSERT INTO word (text) VALUES (?)", [(text,) for text in texts])


def fill(words):
    with words.writing() as connection:
        connection.execute("PRAGMA max_page_count = 1")  # SQLite says FULL then, as it does when the disk is
        connection.executemany("INSERT INTO word (text) VALUES (?)", [("long" * 1000,)] * 99)


def texts(words):
    with words.reading() as connection:
        return [] if connection is None else [text for (text,) in connection.execute("SELECT text FROM word")]


def test_what_is_written_is_read_and_nothing_is_made_by_reading(tmp_path):
    words = database(tmp_path)
    assert texts(words) == []
    assert not words.file.exists()
    add(words, "one", "two")
    assert texts(words) == ["one", "two"]
    assert words.file.stat().st_mode & 0o777 == 0o600


def test_a_block_that_fails_leaves_no_half(tmp_path):
    words = database(tmp_path)
    add(words, "one")
    with pytest.raises(StorageError, match="the word list cannot be written"):
        add(words, "half", None)
    assert texts(words) == ["one"]


def test_an_older_version_is_brought_up_and_kept_beside(tmp_path):
    add(database(tmp_path), "one", "three")
    today = database(tmp_path, FIRST, SECOND)
    with today.reading() as connection:
        assert connection.execute("SELECT text, size FROM word").fetchall() == [("one", 3), ("three", 5)]
        assert connection.execute("PRAGMA user_version").fetchone() == (2,)
    (kept,) = today.file.parent.glob("*.version-1")
    with closing(sqlite3.connect(kept)) as before:
        assert before.execute("SELECT * FROM word").fetchall() == [(1, "one"), (2, "three")]
    with pytest.raises(StorageError, match="newer tabterm"):
        texts(database(tmp_path))


def test_a_step_that_fails_leaves_the_older_version(tmp_path):
    add(database(tmp_path), "one")
    with pytest.raises(StorageError, match="cannot be read"):
        texts(database(tmp_path, FIRST, SECOND + "UPDATE nothing SET x = 1;"))
    assert texts(database(tmp_path)) == ["one"]


def test_somebody_elses_database_is_left_alone(tmp_path):
    words = database(tmp_path)
    words.file.parent.mkdir()
    with closing(sqlite3.connect(words.file)) as other:
        other.execute("CREATE TABLE theirs (x)")
    before = words.file.read_bytes()
    with pytest.raises(StorageError, match="it is not a word list"):
        add(words, "one")
    assert words.file.read_bytes() == before


def test_two_programs_may_make_the_file_at_once(tmp_path, monkeypatch):
    words, version = database(tmp_path), module._version

    def overtaken(connection):
        """Another program makes the tables right after this one has seen that none are there."""
        monkeypatch.undo()
        found = version(connection)
        add(words, "theirs")
        return found

    monkeypatch.setattr(module, "_version", overtaken)
    add(words, "ours")
    assert texts(words) == ["theirs", "ours"]


def test_another_writer_is_waited_for_and_then_said(tmp_path):
    words = database(tmp_path, when_busy="try again")
    add(words, "one")
    with closing(sqlite3.connect(words.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert texts(words) == ["one"]
        with pytest.raises(StorageError, match=r"another program is writing to it \(try again\)"):
            add(words, "two")


def test_a_full_disk_is_said_and_the_file_is_as_it_was(tmp_path):
    words = database(tmp_path)
    add(words, "one")
    with pytest.raises(StorageError, match=r"the disk is full \(make room\)"):
        fill(words)
    assert texts(words) == ["one"]


def test_a_copy_is_whole_and_private(tmp_path):
    words = database(tmp_path)
    add(words, "one", "two")
    words.copy_to(tmp_path / "copy.sqlite")
    assert texts(Database(tmp_path / "copy.sqlite", "word list", (FIRST,), 0.05)) == ["one", "two"]
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["copy.sqlite"]
    assert (tmp_path / "copy.sqlite").stat().st_mode & 0o777 == 0o600


def forget(_damaged, _new):
    pass


def save_words(damaged, new):
    rows = damaged.execute("SELECT text FROM word").fetchall()
    with new.writing() as connection:
        connection.executemany("INSERT INTO word (text) VALUES (?)", rows)


def test_a_damaged_file_is_noticed_and_set_aside(tmp_path):
    words = database(tmp_path)
    add(words, "one")
    words.file.write_bytes(b"no database" * 1000)
    with pytest.raises(DamagedError, match="it is not a word list"):
        texts(words)
    aside = words.mend(forget)
    assert aside.name == "words.sqlite.damaged"
    assert aside.read_bytes() == b"no database" * 1000
    assert texts(words) == []
    assert sorted(path.name for path in words.file.parent.iterdir()) == ["words.sqlite", "words.sqlite.damaged"]


def damaged_words(tmp_path):
    """A list whose words can be read, and whose index cannot."""
    words = database(tmp_path, FIRST + "CREATE INDEX by_text ON word (text);")
    add(words, "one")
    data = words.file.read_bytes()
    words.file.write_bytes(data[:-4096] + b"\xff" * 4096)  # the last page is that of the index
    return words


def test_mending_that_fails_leaves_all_as_it_was(tmp_path):
    words = damaged_words(tmp_path)
    before = words.file.read_bytes()

    def fails(_damaged, _new):
        raise OSError(28, "No space left on device")

    with pytest.raises(StorageError, match="cannot be repaired: No space left on device"):
        words.mend(fails)
    assert words.file.read_bytes() == before
    assert words.mend(save_words) is not None
    words.check()
    assert texts(words) == ["one"]


def test_what_is_whole_is_not_mended(tmp_path):
    words = database(tmp_path)
    add(words, "one")
    assert words.mend(forget) is None
    assert texts(words) == ["one"]


@pytest.mark.parametrize("plant", PLANTS)
def test_what_somebody_has_planted_there_is_left_alone(plant, tmp_path):
    words = database(tmp_path)
    words.file.parent.mkdir()
    PLANTS[plant](words.file)
    with pytest.raises(StorageError, match=r"words.sqlite is a|cannot be written"):
        add(words, "one")
    assert unharmed(words.file)
