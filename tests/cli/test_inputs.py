"""Files, folders and standard input, whatever the command; and measures, data and exit status in each."""

from __future__ import annotations

import io
import json
import sys
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile

from tabterm import formats
from tabterm.cli.inputs import told_by
from tabterm.cli.main import main
from tests.build import measure, score

EASY = ("4 2.0,4 2.2,2 1.0", "1 2.0", "1 3.0")
HARD = ("4 2.0,4 2.2,2 1.0", "4 1.1 2.12,4 1.0,2 1.0", "1 3.0")


@pytest.fixture
def folder(tmp_path):
    """Two scores with a pickup each, an easy one and one with leaps; and a file that is none."""
    made = tmp_path / "tunes"
    made.mkdir()
    for name, measures in (("easy.tabterm", EASY), ("hard.txt", HARD)):
        formats.write(made / name, score(measure("4 1.2", short=True), *measures, title=name))
    (made / "notes.pdf").write_bytes(b"%PDF-")
    (made / ".hidden.abc").write_text("X:1\nK:G\nA|\n")
    return made


@pytest.fixture
def piped(monkeypatch):
    """Gives a command a standard input."""

    def pipe(data):
        monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(data), isatty=lambda: False))

    return pipe


@pytest.mark.parametrize("words", [["slow", "-", "{out}.wav", "--tempo", "100%"], ["transcribe", "-", "--json"]])
def test_a_recording_may_come_by_a_pipe(words, piped, tmp_path, monkeypatch, capsys):
    """One tone of 440 Hz for 1.5 s (A4 = 440 Hz: ISO 16; MIDI note 69), as a WAV file of 16 kHz."""
    monkeypatch.setenv("TMPDIR", str(tmp_path / "spool"))
    monkeypatch.setattr("tempfile.tempdir", None)
    (tmp_path / "spool").mkdir()
    out, wav = tmp_path / "heard", io.BytesIO()
    soundfile.write(wav, np.sin(np.arange(24_000) * 880 * np.pi / 16_000) / 4, 16_000, format="WAV")
    words = [word.format(out=out) for word in words]
    piped(wav.getvalue())
    assert main(words) == 0
    if words[0] == "slow":
        assert soundfile.info(f"{out}.wav").frames == 24_000
    else:
        assert [note["pitch"] for note in json.loads(capsys.readouterr().out)] == [69]
    piped(b"X:1\n")
    assert main([*words, "--force"]) == 2
    assert "tabterm: -: not an audio file, or a damaged one" in capsys.readouterr().err
    monkeypatch.setattr("tabterm.cli.recordings.MOST_PIPED_BYTES", 1_000)
    piped(wav.getvalue())
    assert main([*words, "--force"]) == 2
    assert "too much data from the pipe (at most 1000 bytes)" in capsys.readouterr().err
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True)
    assert main([*words, "--force"]) == 2
    assert "standard input is a terminal (pipe a file into it:" in capsys.readouterr().err
    assert list((tmp_path / "spool").iterdir()) == []


def answers(capsys, *words, status=0):
    assert main([*map(str, words), "--json"]) == status
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("ending", [".tabterm", ".txt", ".abc", ".musicxml", ".mxl", ".mid"])
def test_what_a_file_is_is_told_by_how_it_begins(ending, tmp_path):
    path = tmp_path / f"tune{ending}"
    formats.write(path, score(*EASY))
    assert told_by(path.read_bytes()) == ending
    assert told_by(b"\xef\xbb\xbf " + path.read_bytes()) in {ending, ".txt"}


@pytest.mark.parametrize("name", ["show", "finger", "strokes", "hard", "explain"])
def test_a_folder_stands_for_its_scores_each_under_its_name(name, folder, capsys):
    assert main([name, str(folder)]) == 0
    out = capsys.readouterr().out
    assert [line for line in out.splitlines() if line.startswith("== ")] == [
        f"== {folder}/easy.tabterm ==",
        f"== {folder}/hard.txt ==",
    ]


@pytest.mark.parametrize("name", ["check", "finger", "strokes", "hard", "compare", "explain"])
def test_data_of_several_names_each_file_and_says_what_could_not_be_read(name, folder, capsys):
    found = answers(capsys, name, folder, folder / "gone.abc", status=2)
    assert [each["file"] for each in found] == [
        str(folder / each) for each in ("easy.tabterm", "hard.txt", "gone.abc")
    ]
    assert ["answer" in each for each in found] == [True, True, False]
    assert "No such file" in found[2]["error"]
    alone = answers(capsys, name, folder / "easy.tabterm")
    assert alone == found[0]["answer"]


@pytest.mark.parametrize("name", ["show", "check", "finger", "strokes", "hard", "compare", "explain"])
def test_standard_input_is_read_like_a_file(name, folder, piped, capsys):
    assert main([name, str(folder / "easy.tabterm")]) == 0
    wanted = capsys.readouterr().out.replace(str(folder / "easy.tabterm"), "-")
    piped((folder / "easy.tabterm").read_bytes())
    assert main([name, "-"]) == 0
    assert capsys.readouterr().out == wanted


def test_a_format_can_be_named(folder, tmp_path, piped, capsys):
    odd = tmp_path / "tune.doc"
    odd.write_bytes((folder / "hard.txt").read_bytes())
    assert main(["check", str(odd), "--from-format", "txt"]) in {0, 1}
    piped(b"%abc\n" + b"X:1\nT:Kiln\nK:G\nGABc|\n")
    assert main(["show", "--from-format", "abc", "-"]) == 0
    assert "title: Kiln" in capsys.readouterr().out
    with pytest.raises(SystemExit):
        main(["show", str(odd), "--from-format", "doc"])
    assert "not a format: 'doc' (one of: tabterm, txt" in capsys.readouterr().err


def test_a_pipe_converts(folder, piped, capsys):
    piped((folder / "easy.tabterm").read_bytes())
    assert main(["convert", "-", "-", "--to-format", "abc"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("%abc-2.1\n")
    assert "T:easy.tabterm\n" in out
    assert "written" not in out
    assert main(["convert", str(folder / "easy.tabterm"), "-"]) == 2
    assert "name one with --to-format" in capsys.readouterr().err
    piped(b"")
    assert main(["show", "-", "-"]) == 2
    assert "standard input can only be read once" in capsys.readouterr().err


def test_a_folder_is_converted_into_another(folder, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["convert", str(folder), str(out)]) == 2
    assert f"several files need a folder to go into (mkdir {out})" in capsys.readouterr().err
    out.mkdir()
    assert main(["convert", str(folder), str(out)]) == 2
    assert "name one with --to-format" in capsys.readouterr().err
    assert main(["convert", "--to-format", "musicxml", str(folder), "-o", str(out), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [each["answer"]["written"] for each in found] == [f"{out}/easy.musicxml", f"{out}/hard.musicxml"]
    assert sorted(each.name for each in out.iterdir()) == ["easy.musicxml", "hard.musicxml"]
    assert main(["convert", str(folder), str(out), "--to-format", "musicxml"]) == 2
    assert capsys.readouterr().err.count("--force overwrites it") == 2


def test_files_may_stand_between_options(folder, capsys):
    easy, hard = str(folder / "easy.tabterm"), str(folder / "hard.txt")
    assert main(["show", easy, "--rows", "count", hard, "--width", "60"]) == 0
    assert capsys.readouterr().out.count("== ") == 2
    with pytest.raises(SystemExit):
        main(["show", easy, "--rowz", "count"])


def test_measures_are_chosen_by_the_same_words(folder, capsys):
    hard = folder / "hard.txt"
    found = answers(capsys, "check", hard, status=1)
    assert {each["measure"] for each in found} == {2}
    assert answers(capsys, "check", hard, "--from", "3") == []
    assert answers(capsys, "check", hard, "--from", "2", "--to", "2", status=1) == found
    for name in ("finger", "strokes"):
        assert {each["measure"] for each in answers(capsys, name, hard, "--from", "2", "--to", "3")} == {2, 3}
    passages = answers(capsys, "hard", hard, "--from", "2", "--to", "2")["passages"]
    assert {each["from"]["measure"] for each in passages} == {2}
    for name in ("check", "finger", "strokes", "hard", "show"):
        assert main([name, str(hard), "--from", "9"]) == 2
        assert "no measure 9 (0 to 3)" in capsys.readouterr().err


def test_how_bad_it_must_be_to_fail_is_chosen(folder, capsys):
    words = ["check", str(folder / "hard.txt")]
    found = {each["severity"] for each in answers(capsys, *words, status=1)}
    assert "impossible" in found
    assert main([*words, "--fail-on", "never"]) == 0
    capsys.readouterr()
    easy = ["check", str(folder / "easy.tabterm"), "--tempo", "300"]
    severities = {each["severity"] for each in answers(capsys, *easy)}
    assert main([*easy, "--fail-on", "hard"]) == int("hard" in severities)
    assert main([*easy, "--fail-on", "remark"]) == int(bool(severities))


def test_one_meaning_of_a_tempo(folder, tmp_path, capsys):
    """60 of 120 quarters a minute is half of it, by either form."""
    easy, out = folder / "easy.tabterm", tmp_path / "out.wav"
    formats.write(easy, score(*EASY))
    tempo = score(*EASY).head.tempo.quarters_per_minute
    sizes = set()
    for word in ("50%", f"{tempo / 2:g}", f"1/8={tempo:g}"):
        assert main(["render", str(easy), str(out), "--to", "1", "--tempo", word, "--force"]) == 0
        sizes.add(out.stat().st_size)
    assert len(sizes) == 1
    capsys.readouterr()
    for word, said in (
        ("fast", "not a tempo: 'fast'"),
        ("10%", "cannot play at 10 percent"),
        ("7x%", "such as 80%"),
    ):
        assert main(["render", str(easy), str(out), "--tempo", word, "--force"]) == 2
        assert said in capsys.readouterr().err


@pytest.mark.parametrize("name", ["slow", "transcribe"])
def test_what_is_written_of_a_recording_is_named_last_or_after_o(name, tmp_path, capsys):
    out = str(tmp_path / "out.doc")
    for words in ([out], ["-o", out]):
        assert main([name, "gone.wav", *words]) == 2
        assert "out.doc: unknown file extension '.doc'" in capsys.readouterr().err
    assert main([name, "gone.wav", out, "-o", out]) == 2
    assert "two output files named (name one)" in capsys.readouterr().err
    assert main([name, "gone.wav"]) == 2
    assert "no file to write" in capsys.readouterr().err


def test_a_handout_of_standard_input_is_named_after_the_title(folder, piped, tmp_path, capsys):
    piped((folder / "easy.tabterm").read_bytes())
    assert main(["handout", "-", str(tmp_path / "out"), "--only", "midi,tab"]) == 0
    names = sorted(each.name for each in (tmp_path / "out").iterdir())
    assert names
    assert all(name.startswith("easy-tabterm") for name in names)


def test_a_command_that_writes_says_what_and_how_large(folder, tmp_path, capsys):
    tune, out = str(folder / "easy.tabterm"), tmp_path / "out.mid"
    assert main(["render", tune, "-o", str(out), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["files"] == [{"written": str(out), "bytes": out.stat().st_size}]
    page = tmp_path / "page.txt"
    assert main(["sheet", tune, str(page), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["files"] == [{"written": str(page), "bytes": page.stat().st_size}]


def test_what_is_written_is_named_by_o_everywhere(tmp_path):
    drills, log = tmp_path / "drills.tabterm", tmp_path / "log.csv"
    assert main(["hand", "-o", str(drills)]) == 0
    assert main(["log", "-o", str(log)]) == 0
    assert drills.exists()
    assert log.read_text().startswith("day,")
