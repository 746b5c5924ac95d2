"""Foreign files as they come, whatever encoding, line end and name; bad ones write nothing but a line."""

from __future__ import annotations

import io
import os
import zipfile
from pathlib import Path

import pytest

import tabterm
from tabterm.cli.main import main
from tabterm.errors import FormatError
from tabterm.formats import native
from tabterm.harmony.chords import chord_of

SAMPLES = Path(__file__).parents[2] / "samples"
ABC = (SAMPLES / "boil-them-cabbage-down.abc").read_text(encoding="utf-8").replace("Boil Them", "Für Élise's")
XML = (SAMPLES / "weir-street-low-line.musicxml").read_text(encoding="utf-8").replace("Weir", "Mühlen")


def archive(content: bytes) -> bytes:
    """A MusicXML archive that holds one file."""
    data = io.BytesIO()
    place = '<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>'
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("META-INF/container.xml", place)
        file.writestr("a.xml", content)
    return data.getvalue()


GOOD = {
    "utf-8.abc": ABC.encode(),
    "with a mark.abc": ABC.encode("utf-8-sig"),
    "utf-16.abc": ABC.encode("utf-16"),
    "lätin 1.abc": ABC.encode("latin-1"),
    "carriage returns.abc": ABC.replace("\n", "\r").encode(),
    "both.abc": ABC.replace("\n", "\r\n").encode(),
    "capitals.ABC": ABC.encode(),
    "mark.musicxml": XML.encode("utf-8-sig"),
    "utf-16.musicxml": XML.replace("UTF-8", "UTF-16").encode("utf-16"),
    "carriage returns.xml": XML.replace("\n", "\r").encode(),
    "日本 über.mxl": archive(XML.encode()),
}


@pytest.mark.parametrize("name", GOOD)
def test_encodings_line_ends_and_names(name, tmp_path, capsys):
    """Every one is the same music as the plain file."""
    path, out = tmp_path / "mein Ordner ü" / name, tmp_path / "öut.tab"
    path.parent.mkdir()
    path.write_bytes(GOOD[name])
    assert main(["convert", str(path), str(out)]) == 0
    notes, title = ("74 notes", "Für Élise's") if name.lower().endswith("abc") else ("41 notes", "Mühlen")
    assert f"{path}: {notes} fitted to the Mandolin" in capsys.readouterr().err
    assert f"title: {title}" in out.read_text(encoding="utf-8")


BAD = {
    **{f"empty.{ending}": b"" for ending in ("abc", "mid", "musicxml", "mxl", "tab", "tabterm")},
    **{
        f"rubbish.{ending}": bytes(range(256)) * 9
        for ending in ("abc", "mid", "musicxml", "mxl", "tab", "tabterm")
    },
    "a tune.mid": ABC.encode(),
    "a page.xml": b"<html/>",
    "bomb.mxl": archive(b" " * 60_000_000),
    "what.pdf": b"%PDF",
}


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_read_is_one_line_and_nothing_is_written(name, tmp_path, capsys):
    path, out = tmp_path / name, tmp_path / "out.tabterm"
    path.write_bytes(BAD[name])
    for command in (["convert", str(path), str(out)], ["show", str(path)], ["compare", str(path)]):
        assert main(command) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert said.err.startswith(f"tabterm: {path}")
        assert said.err.count("\n") == 1
    assert [each.name for each in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("ending", ["abc", "mid", "musicxml", "mxl"])
def test_a_folder_and_a_huge_file_are_refused(ending, tmp_path, capsys):
    folder, huge = tmp_path / f"folder.{ending}", tmp_path / f"huge.{ending}"
    folder.mkdir()
    with huge.open("wb") as file:
        file.truncate(64_000_001)
    for path, words in ((folder, "several files need a folder to go into"), (huge, "the file is too large")):
        assert main(["convert", str(path), str(tmp_path / "out.tab")]) == 2
        assert words in capsys.readouterr().err
    assert not (tmp_path / "out.tab").exists()


@pytest.mark.parametrize("ending", ["abc", "mid", "musicxml", "mxl", "tabterm", "txt"])
def test_a_pipe_and_a_device_are_refused_without_waiting(ending, tmp_path, capsys):
    pipe, device = tmp_path / f"pipe.{ending}", tmp_path / f"device.{ending}"
    os.mkfifo(pipe)
    device.symlink_to("/dev/zero")
    for path, words in ((pipe, "is a pipe"), (device, "is a device")):
        assert main(["show", str(path)]) == 2
        assert words in capsys.readouterr().err


def test_a_remark_is_told_alike_wherever_the_file_is_opened(tmp_path, capsys):
    path = tmp_path / "a.abc"
    path.write_text("X:1\nL:1/4\nK:G\nGABc ?|\n", encoding="utf-8")
    said = f"{path}:4:6: '?' is not understood"
    for words in (["show", str(path)], ["compare", str(path)], ["check", str(path)]):
        main(words)
        assert said in capsys.readouterr().err
    main(["convert", str(path), str(tmp_path / "a.tab"), "--report"])
    assert said in capsys.readouterr().out


def test_what_is_read_is_chosen_alike_by_every_command_that_opens_a_score(tmp_path, capsys):
    """The second tune has no note on the neck as it is written: whoever opens it has it fitted."""
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:One\nL:1/4\nK:G\nGABc|\n\nX:2\nT:Two\nL:1/4\nK:G\nG,,A,,B,,C,|\n", encoding="utf-8")
    commands = [
        *(["show"], ["check"], ["compare"], ["finger"], ["strokes"], ["hard"]),
        ["convert", str(tmp_path / "two.tab")],
        ["render", str(tmp_path / "two.mid")],
    ]
    for name, *more in commands:
        assert main([name, str(book), *more, "--tune", "3"]) == 2, name
        assert ": no tune 3" in capsys.readouterr().err, name
        with pytest.raises(SystemExit, match="2"):
            main([name, str(book), *more, "--tune", "9" * 5000])
        assert "not a number from 1 up" in capsys.readouterr().err, name
        assert main([name, str(book), *more, "--tune", "2"]) == 0, name
        assert "4 notes fitted to the Mandolin: everything an octave up" in capsys.readouterr().err, name


def test_what_is_played_is_what_was_fitted(tmp_path, capsys):
    tune = tmp_path / "low.abc"
    tune.write_text("X:1\nL:1/4\nK:G\nG,,A,,B,,C,|\n", encoding="utf-8")
    assert main(["play", str(tune), "--output", "nowhere that plays"]) == 2
    assert "4 notes fitted to the Mandolin: everything an octave up" in capsys.readouterr().err


def test_chords_that_are_not_plain_are_told_once_when_the_file_is_opened(tmp_path, capsys):
    path = tmp_path / "a.tab"
    tab = "E|0---2---3---5---|0---2---3---5---|\n" + "".join(f"{c}|{'-' * 16}|{'-' * 16}|\n" for c in "ADG")
    path.write_text(f"  Hm  C7wat       B7  C  C7wat\n{tab}", encoding="utf-8")
    main(["show", str(path)])
    said = capsys.readouterr()
    assert said.err.count("'C7wat' is not understood: kept, but silent") == 1
    assert said.err.count("the chord 'B7' is read as B flat, by its German name; for B natural write H") == 1
    assert "C7wat" in said.out
    assert "Hm" in said.out
    path.write_text(f"chord names: german\n\n  Hm           B7\n{tab}", encoding="utf-8")
    main(["show", str(path)])
    assert "B flat" not in capsys.readouterr().err


TAB = "  A7          B7\nE|0---2---3---5---|\n" + "".join(f"{c}|{'-' * 16}|\n" for c in "ADG")
GERMAN = "is read as B flat, by its German name; for B natural write H"


@pytest.mark.parametrize(
    ("name", "text", "root", "told"),
    [
        ("a.tab", TAB, 10, 1),
        ("a.txt", f"chord names: english\n\n{TAB}", 11, 0),
        ("a.txt", f"chord names: german\n\n{TAB}", 10, 0),
        ("a.abc", 'X:1\nL:1/4\nK:C\n"A7"E2"B7"F2|\n', 11, 0),
    ],
)
def test_the_configuration_says_how_a_tab_names_chords_that_does_not_say_it(
    tmp_path, capsys, monkeypatch, name, text, root, told
):
    """ABC says itself that its names are English (standard 2.1, section 4.18: a note from A to G)."""
    config = tmp_path / "own.toml"
    config.write_text('[chords]\nnames = "german"\n', encoding="utf-8")
    monkeypatch.setenv("TABTERM_CONFIG", str(config))
    path, out = tmp_path / name, tmp_path / "out.tabterm"
    path.write_text(text, encoding="utf-8")
    assert main(["convert", str(path), str(out)]) == 0
    assert capsys.readouterr().err.count(f"the chord 'B7' {GERMAN}") == told
    kept = native.read(out.read_bytes())
    assert chord_of(kept, "B7").root == root
    monkeypatch.delenv("TABTERM_CONFIG")  # the score that was saved says it itself
    assert chord_of(tabterm.open(out, player=tabterm.Player()).score, "B7").root == root


def test_a_script_says_how_a_tab_names_chords(tmp_path):
    path = tmp_path / "a.tab"
    path.write_text(TAB, encoding="utf-8")
    german = tabterm.open(path, player=tabterm.Player(), chord_names="german")
    assert chord_of(german.score, "B7").root == 10
    assert any(GERMAN in each.message for each in german.report.remarks)
    assert chord_of(tabterm.open(path, player=tabterm.Player()).score, "B7").root == 11
    with pytest.raises(FormatError, match="unknown names of chords: 'latin'"):
        tabterm.open(path, player=tabterm.Player(), chord_names="latin")


def test_a_new_score_names_chords_as_the_configuration_says(tmp_path, monkeypatch):
    config = tmp_path / "own.toml"
    config.write_text('[chords]\nnames = "german"\n', encoding="utf-8")
    monkeypatch.setenv("TABTERM_CONFIG", str(config))
    from tabterm.cli.edit import loaded
    from tabterm.cli.main import build_parser

    app, _ = loaded(build_parser("edit").parse_args(["edit", str(tmp_path / "new.tabterm")]))
    try:
        assert app.session.score.chord_names == "german"
    finally:
        app.session.transport.close()
        app.session.document.close(keep_draft=False)
