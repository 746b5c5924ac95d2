"""`tabterm log`, as a player types it."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta

import pytest

from tabterm import formats
from tabterm.cli.main import main
from tabterm.piece.practice_log import LogEntry, PracticeLog, path
from tests.build import score


@pytest.fixture
def piece(tmp_path):
    """A piece that was practised on three days, and another one."""
    file = tmp_path / "kiln lane.tabterm"
    formats.write(file, score("1 1.0", title="Kiln Lane"))
    begun = datetime(2026, 5, 1, 18, 30, tzinfo=UTC)
    for day, (tempo, beat) in enumerate(((60.0, "4"), (70.0, "4"), (85.0, "4."))):
        PracticeLog().add(
            LogEntry(begun + timedelta(days=day), "Kiln Lane", str(file), 1, 2, "1-2", tempo, beat, tempo, 4, 60.0)
        )
    PracticeLog().add(LogEntry(begun, "Ash Weir", "/gone/ash.tabterm", 3, 3, "3", 90.0, "4", 90.0, 4, 45.0))
    return file


def test_a_piece_is_shown_by_passages_with_a_graph(piece, capsys):
    assert main(["log", str(piece)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("measures 1-2: 85 of 100 a minute, 3 days, 3 min\n")
    assert "2026-05-01" in out
    assert "100|" in out
    assert "Ash" not in out


def test_without_a_piece_all_are_listed(piece, capsys):
    assert main(["log"]) == 0
    ash, kiln = capsys.readouterr().out.splitlines()
    assert ash == "2026-05-01\tAsh Weir\t1 passage\t1 day\t45 s\t/gone/ash.tabterm"
    assert kiln.startswith("2026-05-03\tKiln Lane\t1 passage\t3 days\t3 min\t")


def test_the_entries_are_exported_once(piece, tmp_path, capsysbinary):
    out = tmp_path / "log.csv"
    assert main(["log", str(piece), "--csv", str(out)]) == 0
    assert capsysbinary.readouterr().out.decode() == f"{out}: practice log written\n"
    with out.open(newline="") as text:
        rows = list(csv.DictReader(text))
    assert [row["beats_per_minute"] for row in rows] == ["60.0", "70.0", "85.0"]
    assert [row["beat"] for row in rows] == ["1/4", "1/4", "3/8"]
    assert main(["log", str(piece), "--csv", str(out)]) == 2
    assert b"--force overwrites it" in capsysbinary.readouterr().err
    assert main(["log", "--csv", "-"]) == 0
    assert len(list(csv.reader(io.StringIO(capsysbinary.readouterr().out.decode(), newline="")))) == 5


def test_nothing_yet_is_no_fault(tmp_path, capsys):
    assert main(["log", str(tmp_path / "new.tabterm")]) == 0
    assert "nothing practised yet of" in capsys.readouterr().out


def test_a_damaged_log_is_one_line(capsys):
    path().parent.mkdir(parents=True)
    path().write_bytes(b"not a database at all" * 50)
    assert main(["log"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_an_export_is_told_as_data_too(piece, tmp_path, capsys):
    out = tmp_path / "log.csv"
    assert main(["log", str(piece), "-o", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["files"] == [{"written": str(out), "bytes": out.stat().st_size}]
    assert main(["log", "-o", "-", "--json"]) == 2
    assert "--json and a file cannot both go to standard output" in capsys.readouterr().err
