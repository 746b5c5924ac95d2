"""The first steps: the samples to try, and what is offered to who names no file."""

from __future__ import annotations

import json
import sys
import tomllib
from pathlib import Path

import pytest

from tabterm import formats
from tabterm.cli import demo, start
from tabterm.cli.main import main
from tabterm.errors import TabtermError
from tabterm.piece import recent
from tests.build import score

ROOT = Path(__file__).parents[2]


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_samples_come_with_the_package():
    scores = [each for each in (ROOT / "samples").rglob("*") if each.suffix in formats.FORMATS]
    tunes = [each.name for each in scores if each.parent.name != "phrases"]  # the phrase book takes those in
    assert sorted(each.name for each in demo.samples()) == sorted(tunes)
    packaged = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"][
        "tabterm"
    ]
    assert {"samples/*", "samples/tunes/*", "samples/phrases/*"} <= set(packaged)


def test_the_demo_copies_the_samples_once(here, capsys):
    assert main(["demo"]) == 0
    first = here / demo.FOLDER / demo.FIRST
    told = capsys.readouterr().out.splitlines()
    assert len(told) == len(demo.samples()) == len([each for each in told if (here / each).is_file()])
    assert str(Path(demo.FOLDER, "tunes", "soldiers-joy.tabterm")) in told
    first.write_bytes(b"mine")
    assert main(["demo", "--no-edit"]) == 0
    assert first.read_bytes() == b"mine"
    (here / "taken").mkdir()
    assert main(["demo", "taken"]) == 2
    assert "taken: it already exists (name another folder)" in capsys.readouterr().err


def test_who_names_no_file_is_offered_samples_a_new_score_and_what_was_open(here):
    formats.write(here / "old.abc", score("1 1.0"))
    formats.write(here / "kiln.tabterm", score("1 1.0"))
    (here / "notes.md").write_text("no score")
    recent.remember(here / "kiln.tabterm")
    assert [words for words, _ in start.offered()] == [
        "demo",
        "edit untitled.tabterm",
        f"edit {here}/kiln.tabterm",
        "edit kiln.tabterm",
        "edit old.abc",
    ]


def test_an_answer_is_a_number_a_file_or_nothing(here):
    offers = ["demo", "edit untitled.tabterm", "edit two words.abc"]
    assert start.taken("1", offers) == ["demo"]
    assert start.taken("3", offers) == ["edit", "two words.abc"]
    assert start.taken("", offers) == ["edit", "untitled.tabterm"]
    assert start.taken("kiln.abc", offers) == ["edit", "kiln.abc"]
    for wrong in ("0", "4", "9" * 30):
        with pytest.raises(TabtermError, match=r"no number \d+ \(1 to 3, or the name of a file\)"):
            start.taken(wrong, offers)
    (here / "7").write_text("")
    assert start.taken("7", offers) == ["edit", "7"]


def test_what_was_open_is_remembered_the_last_first_while_it_is_there(here):
    for number in range(recent.MOST + 2):
        path = here / f"{number}.abc"
        path.write_text("")
        recent.remember(path)
    recent.remember(here / "5.abc")
    assert recent.recent()[0] == here / "5.abc"
    assert len(recent.recent()) == recent.MOST
    (here / "5.abc").unlink()
    assert here / "5.abc" not in recent.recent()


@pytest.mark.parametrize("damage", [b"", b"{}", b"[1, null]", b"\xff", json.dumps(["/no/such"] * 50).encode()])
def test_damage_to_the_list_costs_no_more_than_the_list(here, damage):
    recent.remember(here / "x")
    recent._file().write_bytes(damage)
    assert recent.recent() == []


def test_on_a_terminal_the_list_leads_to_the_editor(here, open_editor):
    editor = open_editor(command=[sys.executable, "-m", "tabterm"])
    editor.wait_for("number or file")
    assert "demo" in editor.text
    editor.type_bytes(b"1\r")
    editor.wait_for("Quarry Road")
    editor.ready()
    assert editor.quit() == 0
    assert recent.recent()[0].name == demo.FIRST
