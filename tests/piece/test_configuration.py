"""The configuration file: what is read, and how the hand is written into it and nothing else is touched."""

from __future__ import annotations

import stat
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.errors import ConfigurationError, StorageError
from tabterm.hand.learning import Lesson
from tabterm.hand.terms import Weights
from tabterm.piece import configuration
from tabterm.piece.player import Player, keep_learnt
from tabterm.score.profile import HandProfile, Speeds
from tabterm.values import plain
from tests.strategies import hands

OWN = """\
# mine, do not lose

[screen]
theme = "light"   # the window is behind me

[hand]
# measured in spring
span_mm = 150     # left hand
  weak = [4]

[keys.stroke]
"b" = "stroke-down"
"""


@pytest.fixture(autouse=True)
def file(tmp_path, monkeypatch):
    path = tmp_path / "own.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(path))
    return path


def test_a_file_and_its_folder_are_made(tmp_path, monkeypatch):
    path = tmp_path / "a" / "b" / "config.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(path))
    hand = configuration.store_hand({"span_mm": 150, "speeds": {"strokes": 9.5}})
    assert hand == HandProfile(span_mm=150, speeds=Speeds(strokes=9.5))
    assert configuration.load().hand == hand
    assert tomllib.loads(path.read_text(encoding="utf-8")) == {
        "hand": {"span_mm": 150, "speeds": {"strokes": 9.5}}
    }


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("[hand]\nspan_mm = " + "9" * 5000, 2, "number is too long"),
        ("[keys]\n\na = " + "[" * 3000 + "]" * 3000, 3, "nested too deeply"),
        ("[hand]\nweak = " + "{a = " * 3000, 2, "nested too deeply"),
    ],
)
def test_what_no_parser_survives_is_said_with_its_line_and_the_defaults_hold(file, text, line, words):
    file.write_text(text, encoding="utf-8")
    found, (fault,) = configuration.tolerated()
    assert found == configuration.Configuration()
    assert words in fault.message
    assert fault.place == f"{file}, line {line}"


def test_a_table_that_is_wrong_counts_as_not_there_and_the_others_hold(file):
    file.write_text("[screen]\ntheme = 'pink'\n[hand]\nspan_mm = 150\n[sond]\n", encoding="utf-8")
    found, faults = configuration.tolerated()
    assert found == configuration.Configuration(hand=HandProfile(span_mm=150))
    assert [str(fault).partition(": ")[0] for fault in faults] == [f"{file}, line 2", f"{file}, line 5"]


def test_a_file_of_nothing_but_faults_is_told_in_a_few_lines(file):
    file.write_text("".join(f"a{number} = 1\n" for number in range(3000)), encoding="utf-8")
    found, faults = configuration.tolerated()
    assert found == configuration.Configuration()
    assert len(faults) == configuration.MOST_FAULTS


def test_a_file_beyond_all_measure_is_not_read(file):
    file.write_bytes(b"#" * 2_000_000)
    assert "more than 1000000 bytes" in str(configuration.tolerated()[1][0])


def test_an_output_that_is_none_is_said_with_its_line(file):
    file.write_text("[sound]\noutput = 'port: Synth'\n", encoding="utf-8")
    assert configuration.load().sound.output == "port:Synth"
    file.write_text("[sound]\noutput = 'organ'\n", encoding="utf-8")
    with pytest.raises(ConfigurationError, match=r"not an output: 'organ' \(device, ") as caught:
        configuration.load()
    assert caught.value.place == f"{file}, line 2"


def test_who_is_heard_and_how_is_set_and_a_style_that_is_none_is_said(file):
    file.write_text('[sound]\nparts = "both"\nstyle = "waltz"\ngroove = false\n', encoding="utf-8")
    sound = configuration.load().sound
    assert (sound.parts, sound.style, sound.groove) == ("both", "waltz", False)
    file.write_text('[sound]\nstyle = "polka"\n', encoding="utf-8")
    with pytest.raises(ConfigurationError, match=r"sound.style: .*no style 'polka'") as caught:
        configuration.load()
    assert caught.value.place.endswith(", line 2")


def test_comments_and_order_stay(file):
    file.write_text(OWN, encoding="utf-8")
    file.chmod(0o640)
    configuration.store_hand({"span_mm": 148, "weak": [3, 4]})
    assert file.read_text(encoding="utf-8") == OWN.replace("150 ", "148 ").replace("[4]", "[3, 4]")
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    configuration.store_hand({"speeds": {"strokes": 9}})
    configuration.store_hand({"speeds": {"repeated": 5}})
    lines = file.read_text(encoding="utf-8").splitlines()
    assert set(OWN.replace("150 ", "148 ").replace("[4]", "[3, 4]").splitlines()) <= set(lines)
    assert configuration.load().hand == HandProfile(span_mm=148, speeds=Speeds(strokes=9, repeated=5))
    assert configuration.load().screen.theme == "light"


@pytest.mark.parametrize(
    "text",
    [
        "hand.span_mm = 150\n",
        "hand = { span_mm = 150 }\n",
        "hand = { speeds = { strokes = 9 } }\n",
        "[hand.speeds]\nstrokes = 9 # clean\n",
        "[hand]\r\nspan_mm = 150\r\n\r\n[sound]\r\ncount_in = 1\r\n",
        "[hand]\nweak = [\n  3, # since the fall\n]\n[sound]\ncount_in = 1\n[hand.speeds]\nstrokes = 9\n",
    ],
)
def test_every_way_to_write_the_table_is_changed_in_place(file, text):
    file.write_bytes(text.encode())
    before = configuration.load()
    changes = {"span_mm": 160, "weak": [2], "speeds": {"fingers_12": 7.5}}
    wanted = HandProfile(span_mm=160, weak=(2,), speeds=before.hand.speeds.with_(fingers_12=7.5))
    assert configuration.store_hand(changes) == wanted
    assert configuration.load() == before.with_(hand=wanted)
    assert configuration.store_hand({}, reset=True) == HandProfile()
    assert configuration.load() == before.with_(hand=HandProfile())
    assert b"strokes" not in file.read_bytes()


def test_reset_can_set_anew(file):
    file.write_text(OWN, encoding="utf-8")
    assert configuration.store_hand({"weak": [1]}, reset=True) == HandProfile(weak=(1,))
    text = file.read_text(encoding="utf-8")
    assert "# mine, do not lose" in text
    assert '"b" = "stroke-down"' in text


@pytest.mark.parametrize(
    "text",
    ["[hand\n", "[hand]\nspan_mm = 5\n", "[hand]\nspam = 5\n", "hand = 3\n", "[hand]\nweak = [7]\n", "\udcff"],
)
def test_a_broken_file_is_never_written_over(file, text):
    data = text.encode("utf-8", "surrogateescape")
    file.write_bytes(data)
    with pytest.raises(ConfigurationError) as caught:
        configuration.store_hand({"span_mm": 150}, reset=True)
    assert "\n" not in str(caught.value)
    assert file.read_bytes() == data


@pytest.mark.parametrize("changes", [{"span_mm": 5}, {"weak": [9]}, {"speeds": {"gallop": 3}}, {"thumb": 1}])
def test_a_value_that_cannot_be_used_is_not_written(file, changes):
    file.write_text(OWN, encoding="utf-8")
    with pytest.raises(ConfigurationError):
        configuration.store_hand(changes)
    assert file.read_text(encoding="utf-8") == OWN


@pytest.mark.skipif(not Path("/proc").exists(), reason="needs a folder that refuses everybody")
def test_a_folder_that_cannot_be_made_is_said(monkeypatch):
    monkeypatch.setenv("TABTERM_CONFIG", "/proc/tabterm/config.toml")
    with pytest.raises(StorageError, match="the folder cannot be made"):
        configuration.store_hand({"span_mm": 140})


def test_the_line_of_a_wrong_finger_is_told(file):
    file.write_text("[hand]\nspan_mm = 150\nweak = [0]\n", encoding="utf-8")
    with pytest.raises(ConfigurationError, match=r"line 3: hand\.weak\.0"):
        configuration.load()


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(hand=hands, text=st.sampled_from(["", OWN, "[hand.speeds]\nstrokes = 3\n"]))
def test_any_profile_is_stored_exactly(file, hand, text):
    file.write_text(text, encoding="utf-8")
    fields = plain(hand, whole=True)
    assert configuration.store_hand(fields) == hand
    assert configuration.load().hand == hand


def test_the_player_is_of_the_configuration_and_of_what_was_learnt(file):
    file.write_text("[hand]\nspan_mm = 150\n[fingering]\nlearn = false\n", encoding="utf-8")
    weights = keep_learnt([Lesson(0.8, {"leave": -1.0}, 5.0)])
    assert weights.habits["leave"] > 0
    assert Player.of(configuration.load()) == Player(hand=HandProfile(span_mm=150), weights=weights, learns=False)
    keep_learnt(())
    assert Player.of(configuration.load()).weights == Weights()
