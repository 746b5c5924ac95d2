"""The table of conventions names tests that there are; those that no other file holds are here."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tabterm import formats
from tabterm.cli.main import main
from tabterm.piece import configuration
from tests.build import score

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/conventions.md").read_text(encoding="utf-8")
HELD = [line for line in PAGE.partition("| test |")[2].splitlines() if line.startswith("| ")]


def test_each_convention_names_a_test_that_there_is():
    assert len(HELD) > 10
    for line in HELD:
        (named,) = re.findall(r"`(tests/[^`]+)`", line)
        file, _, name = named.partition("::")
        assert (ROOT / file).is_file(), named
        assert not name or f"def {name}(" in (ROOT / file).read_text(encoding="utf-8"), named


@pytest.fixture
def long(tmp_path):
    """More text than a pipe holds."""
    path = tmp_path / "long.tabterm"
    formats.write(path, score(*["4 2.0,4 2.2,2 1.0"] * 900))
    return path


def test_a_reader_that_has_gone_is_no_fault(long):
    words = [sys.executable, "-m", "tabterm", "show", str(long), "--width", "40"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout.readline().startswith(b"instrument")
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) == 0


def test_what_follows_two_dashes_is_a_file(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    formats.write(tmp_path / "-odd.abc", score("1 1.0"))
    assert main(["show", "--rows", "count", "--", "-odd.abc"]) == 0
    assert "E      |" in capsys.readouterr().out


@pytest.mark.skipif(sys.platform != "linux", reason="the specification is for desktops of freedesktop.org")
def test_the_configuration_is_where_the_base_directory_specification_has_it(tmp_path, monkeypatch):
    """XDG Base Directory Specification 0.8: $XDG_CONFIG_HOME, else ~/.config."""
    monkeypatch.delenv("TABTERM_CONFIG", raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert configuration.path() == tmp_path / "tabterm/config.toml"
    monkeypatch.delenv("XDG_CONFIG_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert configuration.path() == tmp_path / ".config/tabterm/config.toml"


TO_A_PIPE = ["-o", "-", "--to-format", "abc"]


@pytest.mark.parametrize(
    "words",
    [
        ["convert", "{tune}", "-", "--to-format", "abc"],
        ["sheet", "{tune}", "-", "--to-format", "pdf"],
        ["render", "{tune}", "-", "--to-format", "mid"],
        ["finger", "{tune}", *TO_A_PIPE],
        ["strokes", "{tune}", *TO_A_PIPE],
        ["check", "{tune}", "--fix", *TO_A_PIPE],
        ["invent", "{tune}", *TO_A_PIPE],
        ["hand", *TO_A_PIPE],
        ["phrases", "insert", "1", "{tune}", *TO_A_PIPE],
        ["transcribe", "{tune}", "-o", "-", "--to-format", "abc"],
        ["slow", "{tune}", "-o", "-", "--to-format", "wav"],
        ["neck", "D7", "-o", "-"],
        ["log", "-o", "-"],
        ["recover", "--take", "1", "-o", "-"],
    ],
    ids=lambda words: words[0],
)
def test_a_pipe_takes_a_file_or_data_but_not_both(words, tmp_path, capsysbinary):
    tune = tmp_path / "tune.tabterm"
    formats.write(tune, score("4 2.0,4 2.2,2 1.0"))
    assert main([word.format(tune=tune) for word in (*words, "--json")]) == 2
    out, err = capsysbinary.readouterr()
    assert out == b""
    hint = "leave out --json, or name a file after -o"
    assert err.decode() == f"tabterm: --json and a file cannot both go to standard output ({hint})\n"


@pytest.mark.parametrize(
    ("words", "beginning"),
    [
        (["render", "{tune}", "-", "--to-format", "wav", "--tempo", "200%"], b"RIFF"),
        (["render", "{tune}", "-o", "-", "--to-format", "mid"], b"MThd"),
        (["slow", "{take}", "-o", "-", "--to-format", "flac"], b"fLaC"),
        (["transcribe", "{take}", "-", "--to-format", "abc", "--report"], b"%abc-2.1\n"),
        (["neck", "D7", "--out", "-"], b"<svg "),
        (["hand", *TO_A_PIPE], b"%abc-2.1\n"),
    ],
    ids=lambda words: words[0] if isinstance(words, list) else "",
)
def test_whatever_is_written_may_go_to_a_pipe_alone(words, beginning, tmp_path, monkeypatch, capsysbinary):
    """By the first bytes that the formats' own definitions name; what is told goes to standard error."""
    monkeypatch.chdir(tmp_path)
    tune, take = tmp_path / "tune.tabterm", tmp_path / "take.wav"
    formats.write(tune, score("1 2.0"))
    soundfile.write(take, np.sin(np.arange(16_000) * 880 * np.pi / 16_000) / 4, 16_000)
    assert main([word.format(tune=tune, take=take) for word in words]) == 0
    out = capsysbinary.readouterr().out
    assert out.startswith(beginning)
    assert b"written\n" not in out
    assert b"headphones" not in out
    assert {each.name for each in tmp_path.iterdir()} == {"tune.tabterm", "take.wav"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["finger", "{tune}", "--alternatives", "-2"], "not a number from 1 up: '-2'"),
        (["sheet", "{tune}", "{tune}.png", "--dpi", "0"], "not a number from 1 up: '0'"),
        (["invent", "{tune}", "--take", "1"], "--take puts a phrase into a new file (name the file after -o)"),
        (["dyads", "G7", "--degrees", "0-0"], "not two degrees: '0-0' (write 3-1)"),
        (["show", "{binary}"], "not text (choose an ABC file)"),
        (["phrases", "import", "{binary}", "-q"], "binary.abc: line 2: not UTF-8 text"),
        (["convert", "{tune}", "{tune}", "{folder}"], "no format for files in a folder"),
    ],
    ids=lambda words: words[0] if isinstance(words, list) else "",
)
def test_what_cannot_be_used_is_never_passed_over(words, said, tmp_path, capsys):
    tune, binary = tmp_path / "tune.tabterm", tmp_path / "binary.abc"
    formats.write(tune, score("1 2.0"))
    binary.write_bytes(bytes(range(256)))
    try:
        status = main([word.format(tune=tune, binary=binary, folder=tmp_path) for word in words])
    except SystemExit as ended:
        status = ended.code
    (line,) = capsys.readouterr().err.splitlines()
    assert (status, said in line) == (2, True)
