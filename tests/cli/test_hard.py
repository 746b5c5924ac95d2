"""`tabterm hard`: phrases, passages, drills, as lines and as JSON, from any readable format."""

from __future__ import annotations

import json
import re
import shlex

import pytest

from tabterm import formats
from tabterm.cli import hard
from tabterm.cli.hearing import span_of
from tabterm.cli.main import build_parser, main
from tabterm.formats import text
from tabterm.hand.difficulty import NO_GRADE
from tabterm.hand.player import HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tests.build import measure, score

PLAIN = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"
LEAP = "16 3.0,16 3.2,16 1.12,16 1.14,16 1.2,16 1.3,8 1.0,8 2.0,8 2.2,8 2.3,8 2.5"


def write(tmp_path, built, name="a tune.tabterm"):
    path = tmp_path / name
    formats.write(path, built)
    return path


def as_json(path, capsys, *options):
    assert main(["hard", str(path), "--json", *options]) == 0
    return json.loads(capsys.readouterr().out)


def test_a_line_for_each_phrase_and_a_block_for_each_passage(tmp_path, capsys):
    path = write(tmp_path, score(PLAIN, "1", LEAP, "1", PLAIN, PLAIN))
    assert main(["hard", str(path)]) == 0
    out = capsys.readouterr().out
    phrases = [line for line in out.splitlines() if line.startswith("phrase ")]
    assert [line.partition(":")[0] for line in phrases] == [
        "phrase m1 1 to m1 4&",
        "phrase m3 1 to m3 4&",
        "phrase m5 1 to m6 4&",
    ]
    for line in phrases:
        assert re.search(
            r": peak \d+\.\d points a second, 90% of it up to \d+\.\d; \d+% of your limit; the limit is 1/4=\d+$",
            line,
        )
    assert re.findall(r"^(\d)\. ", out, re.MULTILINE) == ["1", "2", "3"]
    assert "\n1. m3 1 to m3 3: " in out
    assert re.search(r"shift from fret \d+ to fret \d+: \d+ mm in \d+ ms \(needs \d+ ms\)", out)
    assert NO_GRADE in out
    assert "stop when something hurts" in out


def test_a_drill_is_printed_as_text_tab(tmp_path, capsys):
    """What is printed can be read again: the passage, with the notes on its sides."""
    path = write(tmp_path, score(PLAIN, LEAP, PLAIN))
    main(["hard", str(path), "--top", "1"])
    block = capsys.readouterr().out.split("\n1. ")[1].split("\n\n")[0]
    drawn = "\n".join(line[3:] for line in block.splitlines()[1:] if re.match(r"   ([A-G]\w* +\||count)", line))
    reread = text.read(drawn.encode()).music
    frets = [note.fret for each in reread.measures for event in each.events for note in event.notes]
    assert frets[:8] == [5, 0, 2, 12, 14, 2, 3, 0]
    assert reread.measures[0].onsets[-1] == 3.5


def test_one_object(tmp_path, capsys):
    path = write(tmp_path, score(PLAIN, LEAP, PLAIN))
    data = as_json(path, capsys, "--top", "2")
    assert set(data) == {"limit_rate", "phrases", "passages", "note"}
    (phrase,) = data["phrases"]
    assert phrase["from"] == {"measure": 1, "onset": "0"}
    assert phrase["to"] == {"measure": 3, "onset": "7/2"}
    assert phrase["peak"] >= phrase["ninetieth"] > 0
    first, second = data["passages"]
    assert first["from"] == {"measure": 2, "onset": "0"}
    assert first["to"] == {"measure": 2, "onset": "2"}
    assert first["use"] == phrase["use"] > second["use"]
    assert first["drill"]["from"] == {"measure": 1, "onset": "7/2"}
    assert first["drill"]["to"] == {"measure": 2, "onset": "5/2"}
    assert first["drill"]["tempo"] == pytest.approx(0.6 * first["limit_tempo"], abs=0.2)
    shift = first["shifts"][0]
    assert shift["mm"] > 0
    assert shift["needed_ms"] == pytest.approx(60 + 0.8 * shift["mm"], abs=1)
    assert data["note"] == NO_GRADE


def test_the_module_names_every_field(tmp_path, capsys):
    def fields(data):
        if isinstance(data, dict):
            yield from data
        for each in data.values() if isinstance(data, dict) else data if isinstance(data, list) else ():
            yield from fields(each)

    found = set(fields(as_json(write(tmp_path, score(PLAIN, LEAP, PLAIN)), capsys)))
    assert len(found) > 20
    assert sorted(name for name in found if f"`{name}`" not in hard.__doc__) == []


def test_the_command_of_a_drill_plays_its_measures_looped(tmp_path, capsys):
    built = score(measure("4 2.0", short=True), PLAIN, LEAP, PLAIN, tempo=Tempo(100.0))
    path = write(tmp_path, built)
    drill = as_json(path, capsys, "--top", "1")["passages"][0]["drill"]
    program, *words = shlex.split(drill["play"])
    assert program == "tabterm"
    arguments = build_parser(words[0]).parse_args(words)
    assert arguments.files == [path]
    assert (arguments.loop, arguments.click) == (0, "beats")
    assert arguments.tempo == f"{round(drill['tempo'])}%"
    span = span_of(built, arguments.first, arguments.last)
    assert (span.start.measure, span.end.measure - 1) == (drill["from"]["measure"], drill["to"]["measure"])


@pytest.mark.parametrize("name", ["a.tab", "a.mid"])
def test_any_readable_format(tmp_path, capsys, name):
    path = write(tmp_path, score(PLAIN, LEAP, PLAIN), name)
    first = as_json(path, capsys, "--top", "1")["passages"][0]
    assert first["from"]["measure"] == 2


def test_the_end_of_a_score_has_no_measure(tmp_path, capsys):
    path = write(tmp_path, score("2 2.0,8 2.2,8 2.3,16 1.12,16 3.1,16 1.12,16 3.1"))
    first = as_json(path, capsys, "--top", "1")["passages"][0]
    assert first["to"] == first["drill"]["to"] == {"measure": None, "onset": None}
    main(["hard", str(path), "--top", "1"])
    assert "to the end" in capsys.readouterr().out


def test_tempos_are_told_in_the_note_value_of_the_score(tmp_path, capsys):
    jig = score(*["8 2.0,8 2.2,8 2.3,8 2.5,8 2.3,8 2.2"] * 2, metre="6/8", tempo=Tempo.parse("3/8=100"))
    main(["hard", str(write(tmp_path, jig)), "--top", "1"])
    out = capsys.readouterr().out
    assert re.search(r"the limit is 3/8=\d+\n", out)
    assert ", from 3/8=60\n" in out


def test_a_limit_out_of_range_says_so(tmp_path, capsys):
    main(["hard", str(write(tmp_path, score("1 2.0", "1 2.0")))])
    assert "the limit is above 1/4=400" in capsys.readouterr().out
    slow = HandProfile(speeds=Speeds(strokes=1.0))
    main(["hard", str(write(tmp_path, score(",".join(["64 2.0"] * 64), hand=slow)))])
    assert "the limit is below 1/4=10" in capsys.readouterr().out


def test_the_player_s_own_hand_is_laid_in(tmp_path, capsys, monkeypatch):
    path = write(tmp_path, score(",".join(["16 2.0"] * 16)))
    before = as_json(path, capsys)["phrases"][0]["limit_tempo"]
    (tmp_path / "config.toml").write_text("[hand.speeds]\nstrokes = 5.0\n")
    monkeypatch.setenv("TABTERM_CONFIG", str(tmp_path / "config.toml"))
    assert as_json(path, capsys)["phrases"][0]["limit_tempo"] == pytest.approx(before / 2, rel=0.01)


def test_music_that_comes_again_is_named_once(tmp_path, capsys):
    path = write(tmp_path, score(LEAP, "1", PLAIN, "1", LEAP, "1"))
    main(["hard", str(path), "--top", "1"])
    assert "1. m1 1 to m1 3 (again at m5 1): " in capsys.readouterr().out


@pytest.mark.parametrize("top", ["0", "21"])
def test_how_many_is_checked(tmp_path, capsys, top):
    assert main(["hard", str(write(tmp_path, score(PLAIN))), "--top", top]) == 2
    assert f"--top {top} cannot be used" in capsys.readouterr().err


def test_bad_input_is_told_in_one_line(tmp_path, capsys):
    assert main(["hard", str(write(tmp_path, score("1")))]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert main(["hard", str(tmp_path / "none.tabterm")]) == 2
    broken = tmp_path / "broken.tabterm"
    broken.write_text("{")
    assert main(["hard", str(broken)]) == 2
    assert "Traceback" not in capsys.readouterr().err
