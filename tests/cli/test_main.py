"""The command line: quick, lazy, one clear line for bad input, exit code 2."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tabterm.cli.main import main
from tabterm.cli.subcommands import COMMANDS
from tabterm.formats import native, text
from tests.build import PLAYER, measure, score

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.tabterm"))


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "tune.tabterm"
    path.write_bytes(native.write(score(measure("4 1.2", short=True), "4 2.0,4 2.2,2 1.0")))
    return path


@pytest.mark.parametrize("words", [["--help"], ["--version"]])
def test_help_loads_neither_screen_nor_midi_nor_numbers(words):
    code = (
        "import sys\nfrom tabterm.cli.main import main\n"
        f"try:\n    main({words!r})\nexcept SystemExit:\n    pass\n"
        "names = 'textual', 'rich', 'mido', 'numpy', 'pydantic', 'rtmidi'\n"
        "print('LOADED', [name for name in names if name in sys.modules])"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.splitlines()[-1] == "LOADED []"


@pytest.mark.parametrize(("set_before", "threads"), [("", "1"), ("2", "2")])
def test_matrices_are_multiplied_in_one_thread_unless_more_are_asked_for(set_before, threads):
    code = "import atexit, os\natexit.register(lambda: print(os.environ['OPENBLAS_NUM_THREADS']))\n"
    code += "from tabterm.cli.main import run\nrun()"
    env = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    env |= {"OPENBLAS_NUM_THREADS": set_before} if set_before else {}
    result = subprocess.run(
        [sys.executable, "-c", code, "-V"], capture_output=True, text=True, check=True, env=env
    )
    assert result.stdout.splitlines()[-1] == threads


def told_when_loaded(tune, statement):
    """What a statement prints where the application stands with its document open."""
    code = (
        "import argparse, sys\nfrom tabterm.cli.edit import configure, loaded\n"
        f"parser = argparse.ArgumentParser()\nconfigure(parser)\nloaded(parser.parse_args([{str(tune)!r}]))\n"
        f"{statement}"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return result.stdout.splitlines()[-1]


def test_the_first_screen_waits_for_nothing_that_it_does_without(tune):
    """What proposes, fits, sounds or keeps a log is not loaded."""
    hand = [f"tabterm.hand.{name}" for name in ("strokes", "fingering", "review", "adapt")]
    names = [
        "numpy",
        "mido",
        "rtmidi",
        "sqlite3",
        "tomlkit",
        "tabterm.performance",
        "tabterm.sound.playback",
        *hand,
    ]
    assert told_when_loaded(tune, f"print([name for name in {names} if name in sys.modules])") == "[]"


def test_what_a_key_changes_is_painted_at_once_though_something_was_painted_just_before(tune):
    assert float(told_when_loaded(tune, "from textual.screen import UPDATE_PERIOD\nprint(UPDATE_PERIOD)")) < 0.005


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no disk that is always full")
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_under_standard_output_is_one_line(tune, unbuffered):
    with Path("/dev/full").open("w") as full:
        result = subprocess.run(
            [sys.executable, "-m", "tabterm", "show", str(tune)],
            stdout=full, stderr=subprocess.PIPE, text=True, check=False,
            env={**os.environ, "PYTHONUNBUFFERED": unbuffered},
        )  # fmt: skip
    assert (result.returncode, result.stderr) == (2, "tabterm: No space left on device\n")


def test_a_name_that_no_file_can_have_is_one_line(tune, capsys):
    assert main(["convert", str(tune), f"{'x' * 300}.txt"]) == 2
    said = capsys.readouterr().err
    assert "x.txt: " in said
    assert "File name too long" in said
    assert said.count("\n") == 1


def test_what_the_locale_cannot_print_is_a_question_mark(tmp_path):
    path = tmp_path / "a.tabterm"
    path.write_bytes(native.write(score("1 1.0", title="Žlutý kůň")))
    result = subprocess.run(
        [sys.executable, "-m", "tabterm", "show", str(path)], capture_output=True, check=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert result.stdout.startswith(b"title: ?lut? k??\n")


def test_without_a_standard_input_the_editor_needs_a_terminal(tune, monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", None)
    assert main([str(tune)]) == 2
    assert "needs a terminal" in capsys.readouterr().err


def test_help_lists_every_command(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    out = capsys.readouterr().out
    assert all(name in out for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(name, capsys):
    with pytest.raises(SystemExit) as caught:
        main([name, "--help"])
    assert caught.value.code == 0
    assert name in capsys.readouterr().out


@pytest.mark.parametrize(
    ("content", "name", "words"),
    [
        (None, "missing.tabterm", "No such file"),
        (None, "missing", "No such file"),
        (b"", "a.tabterm", "not JSON"),
        (b"{", "a.tabterm", "line 1"),
        (b"[]", "a.tabterm", "not a tabterm file"),
        (b'{"format": "tabterm", "version": 7}', "a.tabterm", "newer tabterm"),
        (b'{"format": "tabterm", "version": 1, "measures": []}', "a.tabterm", "no measure"),
        (b"hello", "a.txt", "no tab of 4 courses"),
        (b"MThd", "a.mid", "not a MIDI file"),
        (b"x", "a.doc", "unknown file extension"),
    ],
)
@pytest.mark.parametrize("command", ["show", "check", "play"])
def test_bad_files_get_one_line_and_exit_code_2(tmp_path, capsys, content, name, words, command):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    assert main([command, str(path)]) == 2
    error = capsys.readouterr().err
    assert words in error
    assert error.startswith("tabterm: ")
    assert error.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("play", "tune.tabterm", "--style", "polka"), "--style: invalid choice: 'polka' (choose from "),
        (("play",), "the following arguments are required: FILE"),
        (("render", "a.tabterm", "b.wav", "--loop", "x"), "--loop: not a number: 'x'"),
        (("handout", "a.tabterm", "b", "--chords"), "unrecognized arguments: --chords"),
        (("handout", "a.tabterm", "b", "--without", "sheet,hats"), "--without: not one of "),
        (("shwo", "x"), "tabterm: no command 'shwo', and no such file (did you mean 'show'?)\n"),
        (("chekc", "a.tabterm", "--json"), "no command 'chekc', and no such file (did you mean 'check'?)"),
        (("xyzzy", "x"), "no command 'xyzzy', and no such file (`tabterm --help` lists the commands)"),
        (("a.tabterm", "--plian"), "unrecognized arguments: --plian"),
        ((__file__, "x"), "unrecognized arguments: x"),
    ],
)
def test_words_that_make_no_sense_get_one_line_as_well(capsys, words, said):
    with pytest.raises(SystemExit) as ended:
        main(words)
    error = capsys.readouterr().err
    assert ended.value.code == 2
    assert said in error
    assert error.startswith("tabterm: ")
    assert error.count("\n") == 1


def test_show_prints_what_reads_back_equal(tune, capsys):
    assert main(["show", str(tune), "--width", "60"]) == 0
    out = capsys.readouterr().out
    assert max(len(line) for line in out.splitlines() if "--" in line) <= 60
    assert text.read(out.encode()).music.measures[0].short


@pytest.mark.parametrize("arguments", [["--width", "5"], ["--rows", "colour"]])
def test_show_refuses_what_it_cannot_do(tune, capsys, arguments):
    assert main(["show", str(tune), *arguments]) == 2
    assert "hint" not in capsys.readouterr().err


def test_convert_there_and_back(tune, tmp_path, capsys):
    assert main(["convert", str(tune), str(tmp_path / "a.txt")]) == 0
    assert main(["convert", str(tmp_path / "a.txt"), str(tmp_path / "b.tabterm")]) == 0
    before = native.read(tune.read_bytes())
    after = native.read((tmp_path / "b.tabterm").read_bytes())
    assert [e.notes for m in after.measures for e in m.events] == [
        e.notes for m in before.measures for e in m.events
    ]
    assert main(["convert", str(tune), str(tmp_path / "a.txt")]) == 2
    assert "--force" in capsys.readouterr().err
    assert main(["convert", str(tune), str(tmp_path / "a.txt"), "--force"]) == 0


def test_play_refuses_measures_that_are_not_there(tune, capsys):
    assert main(["play", str(tune), "--from", "9"]) == 2
    assert "no measure 9 (0 to 1)" in capsys.readouterr().err


def test_play_plays_the_measures_asked_for(tune, recorder):
    assert (
        main(
            ["play", str(tune), "--from", "1", "--to", "1", "--tempo", "200%", "--output", f"port:{recorder.name}"]
        )
        == 0
    )
    assert [note for _, note, _ in recorder.notes()] == [69, 71, 76]


def test_the_editor_needs_a_terminal(tune, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", open("/dev/null", encoding="utf-8"))  # noqa: PTH123, SIM115
    assert main([str(tune)]) == 2
    assert "needs a terminal" in capsys.readouterr().err
    sys.stdin.close()


def test_keys_prints_the_table(capsys):
    assert main(["keys"]) == 0
    assert any(line.startswith("h\t") for line in capsys.readouterr().out.splitlines())


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_are_as_the_program_writes_them(path):
    assert native.write(native.read(path.read_bytes())) == path.read_bytes()


def test_the_break_has_what_it_is_there_to_show():
    from tabterm.hand.review import findings

    break_ = native.read((SAMPLES[0].parent / "quarry-road-breakdown.tabterm").read_bytes())
    assert break_.measures[0].short
    assert break_.measures[0].length == 3
    assert len(break_.measures) == 17
    events = [event for measure_ in break_.measures for event in measure_.events]
    ways = {note.reached.value for event in events for note in event.notes}
    assert ways == {"struck", "hammer", "pull", "slide"}
    assert any(note.bend for event in events for note in event.notes)
    assert [finding.severity.value for finding in findings(break_, PLAYER)] == ["hard"]
