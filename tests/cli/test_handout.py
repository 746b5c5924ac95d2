"""`tabterm handout`, run as a teacher runs it: what is in the folder, and what can be left out."""

from __future__ import annotations

import importlib.util
import json

import mido
import pytest

from tabterm import formats
from tabterm.cli.main import main
from tabterm.score.operations import set_title
from tabterm.score.tempo import Tempo
from tests.build import measure, score


@pytest.fixture
def tune(tmp_path):
    """Two measures of 1 s under a title that is not Latin."""
    first = measure("4 1.2,4 1.3,2 2.3", chords=[{"offset": "0", "symbol": "G"}])
    path = tmp_path / "tune.tabterm"
    formats.write(path, set_title(score(first, "2 2.0,2 2.2", tempo=Tempo(240.0)), "春の歌"))
    return path


def made(folder):
    return {path.name: path for path in folder.iterdir()}


def test_a_folder_has_what_a_student_needs_under_a_name_in_any_script(tune, tmp_path, capsys):
    folder = tmp_path / "out"
    assert main(["handout", str(tune), str(folder), "--tempos", "200%"]) == 0
    files = made(folder)
    assert {"README.txt", "index.html"} <= files.keys()
    assert {"春の歌.pdf", "春の歌.mid", "春の歌.musicxml", "春の歌.txt"} <= files.keys()
    assert {"1-春の歌-200-solo.mp3", "2-春の歌-200-backing.mp3"} <= files.keys()
    readme = files["README.txt"].read_text(encoding="utf-8")
    assert readme.startswith("春の歌\n")
    assert all(name in readme for name in files.keys() - {"README.txt"})
    assert "See a doctor about pain" not in readme
    assert "See a doctor about pain" in files["index.html"].read_text(encoding="utf-8")
    assert max(map(len, readme.splitlines())) <= 80
    assert formats.read(files["春の歌.musicxml"]).music.head.title == "春の歌"
    assert sum(message.type == "note_on" for message in mido.MidiFile(files["春の歌.mid"])) == 5
    assert sorted(capsys.readouterr().out.splitlines()[: len(files)]) == sorted(
        str(path) for path in files.values()
    )


def test_every_part_can_be_left_out_and_chosen_alone(tune, tmp_path):
    words = ["handout", str(tune), str(tmp_path / "one"), "--only", "tab,midi"]
    assert main(words) == 0
    assert made(tmp_path / "one").keys() == {"春の歌.txt", "春の歌.mid"}
    assert main(["handout", str(tune), str(tmp_path / "two"), "--only", "tab,midi", "--without", "midi"]) == 0
    assert made(tmp_path / "two").keys() == {"春の歌.txt"}


def test_some_measures_make_a_handout_of_their_own(tune, tmp_path):
    words = ["--from", "2", "--to", "2", "--only", "tab,musicxml"]
    assert main(["handout", str(tune), str(tmp_path / "out"), *words]) == 0
    files = made(tmp_path / "out")
    assert files.keys() == {"春の歌-m2.txt", "春の歌-m2.musicxml"}
    assert len(formats.read(files["春の歌-m2.musicxml"]).music.measures) == 1


def test_the_former_command_makes_the_audio_files_for_one_version_more(tune, tmp_path, capsys):
    assert main(["pack", str(tune), str(tmp_path / "out"), "--tempos", "200%"]) == 0
    assert made(tmp_path / "out").keys() == {"1-春の歌-200-solo.mp3", "2-春の歌-200-backing.mp3"}
    assert capsys.readouterr().err == "tabterm: `pack` is now `handout --only audio`\n"


def test_without_the_libraries_of_the_sheet_a_line_names_the_command(tune, tmp_path, capsys, monkeypatch):
    found = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name, *more: None if name == "typst" else found(name, *more)
    )
    assert main(["handout", str(tune), str(tmp_path / "out"), "--tempos", "200%"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "pip install 'tabterm[full]'" in said
    assert not (tmp_path / "out").exists()
    words = ["--without", "booklet,page,audio"]
    assert main(["handout", str(tune), str(tmp_path / "out"), *words]) == 0
    assert made(tmp_path / "out").keys() == {"README.txt", "春の歌.mid", "春の歌.musicxml", "春の歌.txt"}


def test_where_nothing_sounds_there_is_nothing_to_hand_out(tmp_path, capsys):
    formats.write(tmp_path / "rests.tabterm", score("1"))
    assert main(["handout", str(tmp_path / "rests.tabterm"), str(tmp_path / "out"), "--only", "page"]) == 2
    assert ": no notes in these measures (write some notes first)" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_tempos_are_told_by_their_form_and_what_was_written_is_data(tune, tmp_path, capsys):
    words = [
        "handout",
        str(tune),
        "-o",
        str(tmp_path / "out"),
        "--only",
        "audio",
        "--tempos",
        "120,150%",
        "--json",
    ]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    files = made(tmp_path / "out")
    assert {name.split("-")[2] for name in files} == {"050", "150"}
    assert {each["written"]: each["bytes"] for each in told["files"]} == {
        str(path): path.stat().st_size for path in files.values()
    }
    assert "Stop when something hurts" in " ".join(told["report"])


@pytest.mark.parametrize("words", [[], ["one", "-o", "two"]])
def test_a_handout_goes_into_one_folder(tune, words, capsys):
    assert main(["handout", str(tune), *words]) == 2
    assert "a handout needs one folder (name it last, or after -o)" in capsys.readouterr().err


@pytest.mark.parametrize(("parts", "place"), [("tab,readme", "README.txt"), ("tab", None)])
def test_the_cautions_are_given_once(tune, tmp_path, capsys, parts, place):
    assert main(["handout", str(tune), str(tmp_path / "out"), "--only", parts]) == 0
    out = capsys.readouterr().out
    inside = "" if place is None else (tmp_path / "out" / place).read_text(encoding="utf-8")
    assert (out + inside).count("See a doctor about pain") == 1
