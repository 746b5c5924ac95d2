"""`tabterm neck`: lines, drawings and data."""

from __future__ import annotations

import json

import pytest

from tabterm.cli.main import main


def test_a_chord_on_the_neck(capsys):
    assert main(["neck", "D7", "--highest", "7"]) == 0
    title, numbers, highest, *_ = capsys.readouterr().out.splitlines()
    assert title == "D7 (Mandolin)"
    assert numbers.split() == ["1", "2", "3", "4", "5", "6", "7"]
    assert [sign for sign in highest if sign not in "-| "] == ["E", "3", "5"]


def test_positions_one_under_the_other(capsys):
    assert main(["neck", "A", "major", "--positions"]) == 0
    blocks = capsys.readouterr().out.split("\n\n")
    assert blocks[0].startswith("A major, frets 2 to 7, from 1 under finger 1 (Mandolin)\n")
    assert len(blocks) >= 2


def test_a_drawing_is_written_once(tmp_path, capsys):
    out = tmp_path / "neck.svg"
    words = ["neck", "G", "--dyads", "3-1", "-o", str(out)]
    assert main(words) == 0
    assert out.read_text(encoding="utf-8").startswith("<svg ")
    assert main(words) == 2
    assert "already" in capsys.readouterr().err
    assert main([*words, "--force"]) == 0


def test_the_neck_as_data(capsys):
    assert main(["neck", "A", "major", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {"course": 2, "fret": 0, "pitch": "A4", "text": "1", "root": True} in found["notes"]
    assert found["positions"][0]["stops"][0] == [4, 2, 1]


@pytest.mark.parametrize(
    ("words", "trouble"),
    [
        (["H", "major"], "not a scale or a chord"),
        (["G", "--highest", "99"], "no fret 99 on this neck"),
        (["G", "--dyads", "2-2"], "no double stop 2-2 in G"),
    ],
)
def test_what_cannot_be_shown_is_said_in_a_line(words, trouble, capsys):
    assert main(["neck", *words]) == 2
    assert trouble in capsys.readouterr().err


def test_without_a_chord_or_scale_one_line_says_what_to_write(capsys):
    assert main(["neck"]) == 2
    assert capsys.readouterr().err == (
        "tabterm: no chord or scale named (write tabterm neck D7, or tabterm neck G major pentatonic)\n"
    )


def test_a_drawing_is_told_in_a_line_or_as_data(tmp_path, capsys):
    out = tmp_path / "neck.svg"
    assert main(["neck", "D7", "-o", str(out)]) == 0
    assert capsys.readouterr().out == f"{out}: drawing written\n"
    assert main(["neck", "D7", "-o", str(out), "--force", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["files"] == [{"written": str(out), "bytes": out.stat().st_size}]
