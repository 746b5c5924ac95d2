"""The practice log: kept through crashes, locks and renamed files, or said in one line; and its export."""

from __future__ import annotations

import csv
import io
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tabterm.errors import StorageError
from tabterm.piece.practice_log import LogEntry, PracticeLog, as_csv

BEGUN = datetime(2026, 5, 1, 18, 30, tzinfo=UTC)
ENTRY = LogEntry(BEGUN, "Kiln Lane", "/tunes/kiln.tabterm", 5, 8, "5-8", 83.2, "4", 80.0, 6, 61.5)


@pytest.fixture
def log(tmp_path):
    return PracticeLog(tmp_path / "folder" / "practice.sqlite")


def later(days, **changes):
    return replace(ENTRY, begun=BEGUN + timedelta(days=days), **changes)


def test_what_is_written_is_read_in_order_of_time(log):
    log.add(later(2), ENTRY)
    log.add(later(1))
    assert PracticeLog(log.file).entries() == [ENTRY, later(1), later(2)]
    assert log.entries(Path(ENTRY.file)) == [ENTRY, later(1), later(2)]
    assert log.entries(Path("/other.tabterm"), "Kiln Lane") == [ENTRY, later(1), later(2)]  # its file is gone
    assert log.entries(Path("/other.tabterm"), "Another") == []


def test_a_renamed_file_is_the_same_piece_and_a_copy_is_not(log, tmp_path):
    old, new, copy = (tmp_path / name for name in ("old", "new", "copy"))
    old.touch()
    log.add(replace(ENTRY, file=str(old)))
    copy.touch()
    log.add(later(1, file=str(copy)))
    assert [len(log.entries(path, "Kiln Lane")) for path in (old, copy)] == [1, 1]
    old.rename(new)
    log.add(later(2, file=str(new)))
    assert [entry.file for entry in log.entries(new, "Kiln Lane")] == [str(new)] * 2
    assert [entry.file for entry in log.entries(copy, "Kiln Lane")] == [str(copy)]


def test_pieces_without_a_title_are_told_apart_by_their_files(log):
    log.add(replace(ENTRY, title="", file="/gone/one"), replace(ENTRY, title="", file="/gone/two"))
    assert len(log.entries(Path("/gone/one"))) == 1


def test_a_locked_log_is_said_and_written_later(log):
    log.add(ENTRY)
    other = sqlite3.connect(log.file, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StorageError, match="another program is writing to it") as caught:
        log.add(later(1))
    assert "\n" not in str(caught.value)
    other.execute("ROLLBACK")
    other.close()
    log.add(later(2))
    assert PracticeLog(log.file).entries() == [ENTRY, later(1), later(2)]


def test_a_damaged_log_is_said_and_left_alone(log):
    log.file.parent.mkdir()
    log.file.write_bytes(b"no database, but somebody's notes" * 100)
    for action in (lambda: log.add(ENTRY), log.entries):
        with pytest.raises(StorageError, match=r"not a practice log.*rename it"):
            action()
    assert log.file.read_bytes().startswith(b"no database")
    log.file.rename(log.file.with_suffix(".old"))
    log.add()
    assert PracticeLog(log.file).entries() == [ENTRY]


@pytest.mark.parametrize(
    "damage",
    [
        "per_minute = 'fast'",
        "per_minute = 9e999",
        "percent = 1e-300",
        "first_measure = 'x'",
        "begun = 7",
        "begun = 'then'",
        "begun = '2026-05-01T18:30:00+00:00:00.5x'",
        "turns = 99999999999",
        "seconds = -1.0",
        "passage = x'00'",
        "passage = zeroblob(2000000)",
    ],
)
def test_an_entry_that_cannot_be_is_said_in_one_line(log, damage):
    log.add(ENTRY, later(1))
    with closing(sqlite3.connect(log.file, isolation_level=None)) as database:
        database.execute(f"UPDATE entry SET {damage} WHERE id = 2")
    with pytest.raises(StorageError, match="the practice log cannot be read") as caught:
        log.entries()
    assert "\n" not in str(caught.value)


def test_a_time_without_a_zone_is_taken_as_here(log):
    log.add(ENTRY, later(1))
    with closing(sqlite3.connect(log.file, isolation_level=None)) as database:
        database.execute("UPDATE entry SET begun = '2026-05-09T10:00:00' WHERE id = 2")
    assert [entry.begun.hour for entry in log.entries()] == [18, 10]


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "folder").write_text("a file")
    with pytest.raises(StorageError, match="practice log cannot be written"):
        PracticeLog(tmp_path / "folder" / "practice.sqlite").add(ENTRY)


def test_a_log_of_a_newer_program_is_left_alone(log):
    log.add(ENTRY)
    database = sqlite3.connect(log.file)
    database.execute("PRAGMA user_version = 99")
    database.close()
    with pytest.raises(StorageError, match="newer tabterm"):
        log.add(ENTRY)


def test_the_export_is_csv_as_rfc_4180_has_it(log):
    # RFC 4180, section 2: records end in CRLF; fields with commas, quotes or line breaks stand in quotes, and a
    # quote in them is doubled.
    log.add(replace(ENTRY, title='The "Old", Road\nto Kiln Lane'))
    text = as_csv(log.entries())
    head, *rest = text.split("\r\n")
    assert head == (
        "day,time,title,file,first_measure,last_measure,passage,beats_per_minute,beat,percent,turns,seconds"
    )
    assert '"The ""Old"", Road\nto Kiln Lane"' in rest[0]
    assert text.endswith("\r\n")
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert row["title"] == 'The "Old", Road\nto Kiln Lane'
    assert (row["day"], row["time"], row["beats_per_minute"]) == ("2026-05-01", "18:30:00", "83.2")
    assert (row["percent"], row["turns"], row["seconds"]) == ("80.0", "6", "62")


def test_the_log_is_private_and_no_link_leads_away_from_it(tmp_path):
    log = PracticeLog(tmp_path / "log.sqlite")
    log.file.touch(0o644)
    log.file.chmod(0o644)
    log.add(ENTRY)
    assert log.file.stat().st_mode & 0o777 == 0o600
    victim = tmp_path / "victim"
    victim.write_bytes(b"precious")
    other = PracticeLog(tmp_path / "other.sqlite")
    other.file.symlink_to(victim)
    with pytest.raises(StorageError, match=r"other\.sqlite is a symbolic link"):
        other.add(ENTRY)
    assert victim.read_bytes() == b"precious"
