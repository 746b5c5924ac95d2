"""`tabterm show` and what `convert` says on standard error."""

from __future__ import annotations

import os

import pytest

from tabterm.cli.main import main
from tabterm.formats import native, text
from tests.build import score

TAB = "E|0---2---3-?-5---|\nA|----------------|\nD|----------------|\nG|----------------|\n"


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "tune.tabterm"
    path.write_bytes(native.write(score(*["4 2.0,4 2.2,2 1.0"] * 20)))
    return str(path)


@pytest.mark.parametrize(("columns", "widest"), [(5, 20), (50, 50), (80, 80), (1000, 400)])
def test_the_width_of_the_terminal_is_used_as_far_as_it_can_be(tune, capsys, monkeypatch, columns, widest):
    monkeypatch.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((columns, 24)))
    assert main(["show", tune]) == 0
    longest = max(len(line) for line in capsys.readouterr().out.splitlines() if "--" in line)
    assert widest - 34 < longest <= widest


def test_a_width_of_nothing_is_refused(tune, capsys):
    assert main(["show", tune, "--width", "0"]) == 2
    assert capsys.readouterr().err == "tabterm: a width of 0 characters cannot be used (20 to 400)\n"


@pytest.mark.parametrize(
    ("rows", "shown"),
    [
        ("", set()),
        ("count, stroke", {"count", "stroke"}),
        ("degree,chord", {"degree", "chord"}),
        ("tonic,class", {"tonic", "class"}),
    ],
)
def test_rows_are_chosen(tune, capsys, rows, shown):
    assert main(["show", tune, "--width", "60", "--rows", rows]) == 0
    first = {line.split()[0] for line in capsys.readouterr().out.splitlines() if line.strip() and ":" not in line}
    assert {word for word in first if word[0] in "abcdefghijklmnopqrstuvwxyz"} == shown


def test_remarks_go_to_standard_error_with_file_line_and_column(tmp_path, capsys):
    path = tmp_path / "sketch.txt"
    path.write_text(TAB, encoding="utf-8")
    expected = [
        f"{path}: no durations are given: the rhythm is proposed from the spacing, and sure",
        f"{path}:1:13: not a note: '?'",
    ]
    for words in (["show", str(path)], ["convert", str(path), str(tmp_path / "out.tabterm")]):
        assert main(words) == 0
        assert capsys.readouterr().err.splitlines() == expected
    assert len(native.read((tmp_path / "out.tabterm").read_bytes()).measures) == 1


def test_some_measures_are_printed_as_a_tab_of_their_own_or_ready_to_paste(tune, capsys):
    assert main(["show", tune, "--from", "3", "--to", "4"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("instrument: ")
    assert len(text.read(out.encode()).music.measures) == 2
    assert main(["show", tune, "--from", "3", "--to", "4", "--clean"]) == 0
    assert capsys.readouterr().out.split("\n")[0].split() == ["3", "4"]
    assert main(["show", tune, "--clean", "--width", "0"]) == 2
    assert main(["show", tune, "--from", "30"]) == 2
    assert capsys.readouterr().err.splitlines()[-1] == "tabterm: no measure 30 (1 to 20)"
