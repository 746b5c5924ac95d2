"""`tabterm hand`: what it prints, what it stores, what it refuses, and the drills it writes."""

from __future__ import annotations

import json
import math

import pytest

from tabterm import formats
from tabterm.cli.check import CAUTION
from tabterm.cli.main import main
from tabterm.formats import native
from tabterm.hand.drills import drills
from tabterm.hand.player import EVIDENCE
from tabterm.instrument import PRESETS
from tabterm.piece import configuration
from tabterm.score.profile import HandProfile, Speeds
from tests.build import score


@pytest.fixture(autouse=True)
def file(tmp_path, monkeypatch):
    path = tmp_path / "own" / "config.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(path))
    return path


def as_json(capsys, *options):
    assert main(["hand", "--json", *options]) == 0
    return json.loads(capsys.readouterr().out)


def plain(text):
    return " ".join(text.split())


def test_the_defaults_are_printed_with_their_evidence_and_the_caution(capsys, file):
    assert main(["hand"]) == 0
    out = plain(capsys.readouterr().out)
    for name, evidence in EVIDENCE.items():
        assert name in out
        assert plain(evidence.source) in out
    assert "your own" not in out
    assert out.endswith(CAUTION)
    assert not file.exists()


def test_the_bands_grow_with_the_span(capsys):
    """Reference bands: 24, 34.5, 49 and 50 mm for fingers 1 and 2, at a span of 143 mm."""
    row = as_json(capsys)["bands"][0]
    limits = {"natural_mm": 24, "comfortable_mm": 34.5, "hard_mm": 49, "extreme_mm": 50}
    assert row == {"fingers": "1-2", **limits}
    wide = as_json(capsys, "--span", "171.6")["bands"][0]
    assert all(math.isclose(wide[name], limit * 1.2, abs_tol=0.01) for name, limit in limits.items())


def test_the_frets_are_those_of_the_instrument(capsys):
    assert main(["hand"]) == 0
    assert "2 2 / 2 3 / 4 5 / 8" in plain(capsys.readouterr().out)
    banjo = as_json(capsys, "--instrument", "tenor-banjo")["frets"][1]
    assert banjo["finger_4"] == {"comfortable": 2, "hard": 4}


def test_own_values_are_stored_and_shown(capsys, file):
    options = ["--span", "150", "--weak", "4", "--set", "strokes=9.5", "--tempo", "fingers-34=75"]
    assert main(["hand", *options]) == 0
    out = plain(capsys.readouterr().out)
    assert "span_mm 150 mm your own (default 143)" in out
    assert "fingers_34 5 notes/s your own (default 6)" in out
    assert "repeated 6.5 notes/s default" in out
    wanted = HandProfile(span_mm=150, weak=(4,), speeds=Speeds(strokes=9.5, fingers_34=5))
    assert configuration.load().hand == wanted
    assert main(["hand", "--weak", "none", "--set", "strokes=11"]) == 0
    assert configuration.load().hand == wanted.with_(weak=(), speeds=Speeds(strokes=11, fingers_34=5))
    assert "weak none" in plain(capsys.readouterr().out)
    values = {value["name"]: value for value in as_json(capsys, "--reset", "--set", "repeated=5")["profile"]}
    assert [name for name, value in values.items() if value["own"]] == ["repeated"]
    assert "150" not in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--span", "59"], "60 to 220 mm"),
        (["--span", "wide"], "60 to 220 mm"),
        (["--span", "nan"], "60 to 220 mm"),
        (["--weak", "5"], "fingers 1 to 4"),
        (["--weak", ""], "fingers 1 to 4"),
        (["--set", "strokes=99"], "1 to 25 notes a second"),
        (["--set", "strokes="], "1 to 25 notes a second"),
        (["--set", "strokes"], "NAME=VALUE"),
        (["--set", "gallop=3"], "fingers_12"),
        (["--tempo", "repeated=376"], "15 to 375 quarters a minute"),
        (["--instrument", "kazoo"], "mandolin"),
        (["--drills", "a.doc"], "unknown file extension"),
        (["--span", "150", "--drills", "a.doc"], "unknown file extension"),
    ],
)
def test_bad_values_get_one_line_and_change_nothing(capsys, file, options, words):
    assert main(["hand", *options]) == 2
    error = capsys.readouterr().err
    assert words in error
    assert error.startswith("tabterm: ")
    assert error.count("\n") == 1
    assert not file.exists()


@pytest.mark.parametrize(("option", "least", "most"), [("--set", "1", "25"), ("--tempo", "15", "375")])
def test_the_bounds_themselves_are_taken(option, least, most, capsys):
    for text, rate in ((least, 1), (most, 25)):
        assert main(["hand", option, f"strokes={text}"]) == 0
        assert configuration.load().hand.speeds.strokes == rate
    capsys.readouterr()


@pytest.mark.parametrize("name", ["drills.tabterm", "drills.txt"])
def test_the_drills_are_written_once(tmp_path, capsys, name):
    out = tmp_path / name
    assert main(["hand", "--span", "120", "--instrument", "tenor-banjo", "--drills", str(out)]) == 0
    assert formats.read(out).music == drills(PRESETS["tenor-banjo"], HandProfile(span_mm=120))
    assert capsys.readouterr().out.startswith(str(out))
    before = out.read_bytes()
    assert main(["hand", "--drills", str(out)]) == 2
    assert "--force" in capsys.readouterr().err
    assert out.read_bytes() == before
    assert main(["hand", "--drills", str(out), "--force"]) == 0
    assert formats.read(out).music == drills(PRESETS["mandolin"], HandProfile(span_mm=120))


def test_the_drills_are_a_midi_file(tmp_path):
    out = tmp_path / "drills.mid"
    assert main(["hand", "--drills", str(out)]) == 0
    assert out.read_bytes().startswith(b"MThd")


def test_a_broken_configuration_is_left_alone(capsys, file):
    file.parent.mkdir()
    file.write_text("[hand\nspan_mm = 150\n", encoding="utf-8")
    for options, status in (([], 0), (["--span", "140"], 2), (["--reset"], 2)):
        assert main(["hand", *options]) == status
        said = capsys.readouterr().err
        assert said.count("\n") == 1
        assert f"{file}, line 1: not TOML" in said
        assert ("the default is used" in said) == (status == 0)
    assert file.read_text(encoding="utf-8") == "[hand\nspan_mm = 150\n"


def test_the_players_hand_judges_a_score_that_has_none(tmp_path, capsys):
    """Frets 2 to 9 are 104 mm apart: hard for the reference hand, impossible for a span of 100 mm."""
    wide = score("1 1.2 2.9", "1 1.2 2.9")
    plain_file, own_file = tmp_path / "plain.tabterm", tmp_path / "own.tabterm"
    plain_file.write_bytes(native.write(wide))
    own_file.write_bytes(native.write(wide.with_(head=wide.head.with_(hand=HandProfile(span_mm=144)))))
    assert main(["check", str(plain_file)]) == 0
    main(["hand", "--span", "100"])
    assert main(["check", str(plain_file)]) == 1
    assert main(["check", str(own_file)]) == 0
    assert "impossible" in capsys.readouterr().out


def test_what_the_drills_lose_is_data_too(tmp_path, capsys):
    out = tmp_path / "drills.mid"
    found = as_json(capsys, "--drills", str(out))
    assert found["files"] == [{"written": str(out), "bytes": out.stat().st_size}]
    assert isinstance(found["report"], list)
