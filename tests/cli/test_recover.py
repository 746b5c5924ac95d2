"""`tabterm recover`: what was put aside is listed, taken and thrown away."""

from __future__ import annotations

import json

import pytest

from tabterm.cli.main import main
from tabterm.formats import native
from tests.build import score
from tests.workspace.test_document import crash, open_, type_note


@pytest.fixture
def aside(tmp_path):
    """A document whose unsaved work belongs to another version of its file; what that was."""
    document = open_(tmp_path / "kiln.tabterm")
    document.save()
    type_note(document, 7)
    wanted = document.score
    crash(document)
    document.path.write_bytes(native.write(score("1 1.9")))
    open_(document.path).close(keep_draft=False)
    return document.path, wanted


def test_nothing_to_recover_is_said(tmp_path, capsys):
    assert main(["recover", str(tmp_path / "a.tabterm")]) == 0
    assert "no unsaved work was put aside" in capsys.readouterr().out
    assert main(["recover"]) == 0


def test_what_was_put_aside_is_listed_and_written_beside_its_document(aside, capsys):
    path, wanted = aside
    assert main(["recover", str(path)]) == 0
    listed = capsys.readouterr().out
    assert listed.startswith("1  ")
    assert f"1 change: {path}" in listed
    assert main(["recover", str(path), "--take", "1"]) == 0
    written = path.with_name("kiln-recovered.tabterm")
    assert native.read(written.read_bytes()).measures == wanted.measures
    assert main(["recover", str(path), "--remove", "1"]) == 0
    assert main(["recover", str(path)]) == 0
    assert "no unsaved work" in capsys.readouterr().out


def test_a_journal_whose_folder_has_gone_is_found_without_a_name(tmp_path, capsys):
    folder = tmp_path / "stick"
    folder.mkdir()
    document = open_(folder / "a.tabterm")
    document.save()
    type_note(document, 7)
    folder.rename(tmp_path / "gone")
    document.flush()
    crash(document)
    assert main(["recover"]) == 0
    assert str(document.path) in capsys.readouterr().out
    out = tmp_path / "back.tabterm"
    assert main(["recover", "--take", "1", "-o", str(out)]) == 0
    assert native.read(out.read_bytes()).measures == document.score.measures


def test_what_was_put_aside_in_the_working_folder_is_found_without_a_name(aside, monkeypatch, capsys):
    path, _ = aside
    monkeypatch.chdir(path.parent)
    assert main(["recover"]) == 0
    assert f"1 change: {path}" in capsys.readouterr().out


def test_what_is_taken_is_as_private_as_its_document(aside):
    path, _ = aside
    path.chmod(0o640)
    assert main(["recover", str(path), "--take", "1"]) == 0
    assert path.with_name("kiln-recovered.tabterm").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("number", ["0", "2"])
def test_a_number_that_is_not_listed_is_refused(aside, number, capsys):
    assert main(["recover", str(aside[0]), "--take", number]) == 2
    assert "no number" in capsys.readouterr().err


def test_no_file_is_written_over_unasked(aside, capsys):
    path, _ = aside
    assert main(["recover", str(path), "--take", "1", "-o", str(path)]) == 2
    assert "\n" not in capsys.readouterr().err.strip()


def test_what_was_taken_and_deleted_is_data_too(aside, capsys):
    path, _ = aside
    out = path.with_name("back.tabterm")
    assert main(["recover", str(path), "--take", "1", "-o", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["files"] == [{"written": str(out), "bytes": out.stat().st_size}]
    assert main(["recover", str(path), "--json"]) == 0
    (listed,) = json.loads(capsys.readouterr().out)
    assert main(["recover", str(path), "--remove", "1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"removed": listed["journal"]}
