"""`tabterm config`: what is set, what could be, and one setting changed without touching the others."""

from __future__ import annotations

import json
import re
import tomllib

import pytest

from tabterm.cli.main import main
from tabterm.piece import configuration, settings_page
from tabterm.piece.configuration import Configuration


@pytest.fixture
def file(tmp_path, monkeypatch):
    path = tmp_path / "own" / "config.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(path))
    return path


def test_the_path_is_that_of_the_file(file, capsys):
    assert main(["config", "path"]) == 0
    assert capsys.readouterr().out == f"{file}\n"


def test_what_is_in_force_is_shown_with_the_line_that_sets_it(file, capsys):
    file.parent.mkdir()
    file.write_text('# mine\n[sound]\nclick = "beats"\n')
    assert main(["config"]) == 0
    rows = [line.split("\t") for line in capsys.readouterr().out.splitlines()]
    assert ["sound.click", '"beats"', "line 3"] in rows
    assert ["screen.mouse", "false", "default"] in rows
    assert main(["config", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["sound"]["click"] == "beats"


def test_the_template_explains_every_setting_and_changes_nothing(file, capsys):
    assert main(["config", "template"]) == 0
    template = capsys.readouterr().out
    file.parent.mkdir()
    file.write_text(template)
    assert configuration.load() == Configuration()
    names = [name for name, _ in settings_page.in_force(Configuration())]
    assert all(name in settings_page.WORDS or name.rpartition(".")[0] in settings_page.WORDS for name in names)
    bare = re.sub(r"^# (?=[\w\"\[].* = |\[)", "", template, flags=re.MULTILINE)
    held = tomllib.loads(bare)
    assert Configuration(**held).keys == {"anywhere": {"ctrl+n": "sheet"}}
    for name in names:
        found = held
        for step in name.split("."):
            found = found[step]


def test_one_setting_is_changed_and_every_other_line_stays(file, capsys):
    file.parent.mkdir()
    file.write_text('# mine\n[sound]   # loud\nclick = "beats"\n')
    for setting, value in (("sound.count_in", "1"), ("screen.theme", "light"), ("hand.speeds.strokes", "9.5")):
        assert main(["config", "set", setting, value]) == 0
    assert main(["config", "set", "keys.anywhere.ctrl+n", "export"]) == 0
    assert file.read_text().startswith('# mine\n[sound]   # loud\nclick = "beats"\ncount_in = 1\n')
    found = configuration.load()
    assert (found.sound.count_in, found.screen.theme, found.hand.speeds.strokes) == (1, "light", 9.5)
    assert found.keys == {"anywhere": {"ctrl+n": "export"}}
    assert str(file) in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("set", "sound.clik", "beats"), "no setting 'sound.clik' (did you mean 'sound.click'?)"),
        (("set", "sound.count_in", "7"), "sound.count_in: more than 2"),
        (("set", "screen.theme", "pink"), "screen.theme: not one of dark, light or terminal"),
        (("set", "keys.nowhere.x", "undo"), "no row 'nowhere'"),
        (("set", "keys.anywhere.xx", "undo"), "no key 'xx'"),
        (("set", "keys.anywhere.x", "undoo"), "no command 'undoo' (did you mean 'undo'?)"),
        (("set", "sound.click"), "only `set` takes a setting and a value"),
        (("path", "sound.click"), "only `set` takes a setting and a value"),
    ],
)
def test_what_cannot_be_set_is_one_line_and_nothing_is_written(file, capsys, words, said):
    assert main(["config", *words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert not file.exists()
