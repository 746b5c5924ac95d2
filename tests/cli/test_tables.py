"""Tables on a terminal, rows for a program, data with --json."""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime

import pytest

from tabterm import formats
from tabterm.cli import tables
from tabterm.cli.main import main
from tabterm.piece.practice_log import LogEntry, PracticeLog
from tabterm.score.model import ChordMark
from tabterm.workspace.registry import REGISTRY, Group
from tests.build import measure, score


@pytest.fixture
def person(monkeypatch):
    """A terminal of 60 columns."""
    for module in ("keys", "ports"):
        monkeypatch.setattr(f"tabterm.cli.{module}.is_read_by_a_person", lambda: True)
    monkeypatch.setattr(tables, "is_read_by_a_person", lambda: True)
    monkeypatch.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((60, 24)))


def test_a_table_fits_the_terminal_and_loses_no_word(capsys):
    lines = tables.drawn(("key", "what"), [("ctrl+e", "write the sheet and open it " * 4), ("[bold]", "a[0]")], 50)
    assert max(map(len, lines)) <= 50
    text = " ".join(lines)
    assert text.count("sheet") == 4
    assert "[bold]" in text
    assert "a[0]" in text


def test_the_keys_are_tables_by_group_or_cells_or_data(person, monkeypatch, capsys):
    assert main(["keys"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 60
    assert all(name in out.replace("\n", "") for name in ("copy-out", "toggle-neck"))
    assert "|" not in out.splitlines()[0]
    for module in ("keys", "tables"):
        monkeypatch.setattr(f"tabterm.cli.{module}.is_read_by_a_person", lambda: False)
    assert main(["keys"]) == 0
    rows = [line.split("\t") for line in capsys.readouterr().out.splitlines()]
    assert [row[1] for row in rows if len(row) == 3] == [
        command.name for group in Group for command in REGISTRY.values() if command.group is group
    ]
    assert {len(row) for row in rows} == {3}
    assert main(["keys", "--json"]) == 0
    found = {each["command"]: each for each in json.loads(capsys.readouterr().out)}
    assert found.keys() == REGISTRY.keys()
    assert {"row": "anywhere", "key": "ctrl+e", "word": ""} in found["sheet"]["keys"]


@pytest.fixture
def practised(tmp_path):
    begun = datetime(2026, 3, 4, 18, 0, tzinfo=UTC)
    entry = LogEntry(begun, "Kiln Lane", str(tmp_path / "kiln.tabterm"), 5, 8, "5-8", 92.0, "4", 80.0, 3, 61.0)
    PracticeLog().add(entry)
    return entry


def test_the_log_is_a_table_or_data(practised, person, capsys):
    assert main(["log"]) == 0
    out = capsys.readouterr().out
    assert all(word in out for word in ("Kiln Lane", "2026-03-04", "practised"))
    assert main(["log", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)
    assert (found["title"], found["passage"], found["per_minute"]) == ("Kiln Lane", "5-8", 92.0)


def test_the_log_has_tabs_between_its_cells_in_a_pipe(practised, capsys):
    assert main(["log"]) == 0
    (row,) = capsys.readouterr().out.splitlines()
    assert row.split("\t") == ["2026-03-04", "Kiln Lane", "1 passage", "1 day", "1 min", practised.file]


def test_outputs_and_unsaved_work_are_data_too(monkeypatch, capsys):
    monkeypatch.setattr(
        "tabterm.sound.playback.Playback.outputs", lambda _: [("device", "null"), ("port", "Synth")]
    )
    assert main(["ports", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[1] == {"kind": "port", "name": "Synth", "output": "port:Synth"}
    assert main(["ports"]) == 0
    assert capsys.readouterr().out == "device:null\nport:Synth\n"
    assert main(["recover", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []


@pytest.fixture
def tune(tmp_path):
    """A pickup, and D7: its third is F# (fret 4 of the D course), its seventh C (fret 3 of the A course)."""
    path = tmp_path / "tune.tabterm"
    chords = (ChordMark(offset="0", symbol="D7"),)
    bar = measure("8 3.4.3 down,8 h3.5,4 2.3 3.0,2", chords=chords)
    formats.write(path, score(measure("4 1.0", short=True), bar, key="G"))
    return str(path)


def test_events_are_a_table_or_cells_or_data(tune, person, monkeypatch, capsys):
    monkeypatch.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((80, 24)))
    assert main(["show", tune, "--table"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["measure", "beat", "value", "notes", "fingers", "stroke", "chord", "degree"]
    assert len(lines) == 2 + 5
    monkeypatch.setattr(tables, "is_read_by_a_person", lambda: False)
    assert main(["show", tune, "--table", "--from", "1"]) == 0
    rows = [line.split("\t") for line in capsys.readouterr().out.splitlines()]
    assert [row[:4] for row in rows] == [
        ["1", "1", "8", "D4"],
        ["1", "1&", "8", "Dh5"],
        ["1", "2", "4", "A3 D0"],
        ["1", "3", "2", "rest"],
    ]
    assert [row[6] for row in rows] == ["D7"] * 4
    assert (rows[0][4], rows[0][5], rows[0][7], rows[2][7]) == ("3", "D", "3", "b7/1")
    assert main(["show", tune, "--json", "--from", "1"]) == 0
    found = json.loads(capsys.readouterr().out)
    notes = [{"course": 3, "fret": 4, "finger": 3}]
    assert {**found[0], "onset": "0", "notes": notes} == found[0]
    told = [found[0][name] for name in ("measure", "stroke", "beat", "value", "chord", "degree")]
    assert told == [1, "down", "1", "8", "D7", "3"]
    assert main(["show", tune, "--table", "--copy"]) == 2
