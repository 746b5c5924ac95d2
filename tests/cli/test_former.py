"""What the program prints and writes has none of the forms of version 1, whatever it was given."""

from __future__ import annotations

import importlib
from pathlib import Path
from shutil import copy

import pytest

from tabterm.cli import demo
from tabterm.cli.main import main
from tabterm.cli.subcommands import COMMANDS
from tabterm.workspace.registry import REGISTRY
from tests.formats.test_former import FORMER, VERSION_1

ROOT = Path(__file__).parents[2]
PRINTED = [
    *(["show"], ["show", "--rows", "chord,count,rhythm,finger,stroke,degree"]),
    *(["check"], ["check", "--json"], ["check", "--tempo", "4.=90"], ["check", "--fix", "-o", "mended.tab"]),
    *(["hard"], ["hard", "--json"], ["finger"], ["finger", "--json"], ["finger", "--alternatives", "2"]),
    *(["strokes"], ["compare"], ["convert", "--report", "out.tab"], ["render", "out.mid"]),
]
"""Commands on a file, without its name."""


@pytest.fixture
def piece(tmp_path):
    return Path(copy(VERSION_1 / "two-old-forms.tabterm", tmp_path))


@pytest.mark.parametrize("words", PRINTED, ids=" ".join)
def test_no_command_prints_the_former_forms(piece, tmp_path, monkeypatch, capsys, words):
    monkeypatch.chdir(tmp_path)
    command, *options = words
    assert main([command, str(piece), *options]) in {0, 1}
    captured = capsys.readouterr()
    written = "".join(path.read_bytes().decode("latin-1") for path in tmp_path.iterdir() if path != piece)
    assert captured.out + written
    assert not FORMER.findall(captured.out + captured.err + written)


def test_the_drills_are_written_in_the_new_forms(tmp_path, capsys):
    out = tmp_path / "drills.tab"
    assert main(["hand", "--drills", str(out)]) == 0
    assert "tempo: 1/4=60" in out.read_text()
    assert not FORMER.findall(out.read_text())


@pytest.mark.parametrize("words", [["hand"], ["hand", "--json"], ["keys"], ["strokes", "--schools"]], ids=" ".join)
def test_no_command_without_a_file_prints_them(capsys, words):
    assert main(words) == 0
    assert not FORMER.findall(capsys.readouterr().out)


def test_no_help_shows_them(capsys):
    for name in COMMANDS:
        with pytest.raises(SystemExit):
            main([name, "--help"])
        assert not FORMER.findall(capsys.readouterr().out), name


def test_no_question_or_title_of_a_command_shows_them():
    importlib.import_module("tabterm.workspace.commands")
    assert "tempo" in REGISTRY
    for command in REGISTRY.values():
        assert not FORMER.findall(f"{command.title}\n{command.asks}"), command.name


@pytest.mark.parametrize("word", ["4.=4000", "4=92,5", "fast", "3=60"])
def test_the_hint_to_a_tempo_shows_the_new_form(piece, capsys, word):
    assert main(["check", str(piece), "--tempo", word]) == 2
    hint = capsys.readouterr().err.replace(word, "")
    assert "\n" not in hint.rstrip("\n")
    assert not FORMER.findall(hint)


@pytest.mark.parametrize(
    "path",
    sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), *ROOT.glob("docs/*.json"), *demo.samples()]),
    ids=lambda path: path.name,
)
def test_no_document_and_no_sample_shows_them(path):
    assert not FORMER.findall(path.read_text(encoding="utf-8"))
