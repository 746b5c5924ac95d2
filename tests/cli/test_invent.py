"""`tabterm invent`: new phrases as tab, as data and as files."""

from __future__ import annotations

import json

import pytest

import tabterm
from tabterm.cli.main import main
from tabterm.harmony.pools import pool_named

WALTZ = "samples/lantern-waltz.tabterm"


def printed(capsys, *words):
    """What the command prints of the first two measures of the waltz."""
    assert main(["invent", WALTZ, "--from", "1", "--to", "2", *words]) == 0
    return capsys.readouterr().out


def test_the_same_seed_gives_the_same_phrases_and_another_gives_others(capsys):
    first, again, other = (printed(capsys, "--json", "--seed", seed) for seed in ("3", "3", "4"))
    assert first == again
    assert json.loads(first)["phrases"][0]["notes"] != json.loads(other)["phrases"][0]["notes"]


def test_each_phrase_has_a_line_in_words_and_its_tab(capsys):
    out = printed(capsys, "--way", "ornamented", "--count", "2")
    assert out.startswith("1: ")
    assert "\n\n2: " in out
    assert out.count("of your limit") == 2
    assert out.count("\nA      |") == 2


def test_of_the_plainer_ones_the_easiest_goes_first(capsys):
    words = [
        "invent",
        "samples/quarry-road-breakdown.tabterm",
        "--from",
        "5",
        "--to",
        "8",
        "--way",
        "plainer",
        "--json",
    ]
    assert main(words) == 0
    used = [each["use"] for each in json.loads(capsys.readouterr().out)["phrases"]]
    assert used == sorted(used)
    assert used[0] < 0.6 < used[-1]


def test_a_pool_or_a_chord_says_what_is_made(capsys):
    pool = json.loads(printed(capsys, "--pool", "D major pentatonic", "--rhythm", "4 8 8 4", "--json"))
    assert pool["way"] == "new"
    for each in pool["phrases"]:
        assert [note["length"] for note in each["notes"]] == ["1", "1/2", "1/2", "1"] * 2
        named = pool_named("D major pentatonic")
        assert all(
            named.degree({"D": 2, "E": 4, "F#": 6, "A": 9, "B": 11}[note["note"][:-1]]) for note in each["notes"]
        )
    over = json.loads(printed(capsys, "--chord", "Em", "--json", "--count", "1"))
    assert (over["way"], over["from"], over["to"]) == ("over", 1, 2)
    assert "chord   Em" in over["phrases"][0]["tab"]


def test_the_phrases_are_written_one_behind_the_other_or_one_in_its_place(tmp_path, capsys):
    apart, taken = tmp_path / "apart.tabterm", tmp_path / "taken.tabterm"
    printed(capsys, "--count", "3", "-o", str(apart))
    printed(capsys, "--count", "3", "--take", "1", "-o", str(taken))
    player = tabterm.Player()
    pieces = [tabterm.open(path, player=player) for path in (apart, taken, WALTZ)]
    behind, placed, old = (piece.score.measures for piece in pieces)
    assert [measure.section for measure in behind] == ["1", "", "2", "", "3", ""]
    assert len(placed) == len(old)
    notes = [
        [[note.spot for note in event.notes] for event in measures[index].events]
        for measures, index in ((behind, 0), (placed, 1), (old, 1))
    ]
    assert notes[0] == notes[1] != notes[2]


def test_a_phrase_of_the_book_is_made_only_where_it_is_asked_for(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def made(*words):
        return [each["notes"] for each in json.loads(printed(capsys, "--json", *words))["phrases"]]

    first, taken = made()[0], tmp_path / "taken.tabterm"
    printed(capsys, "--take", "1", "-o", str(taken))
    assert main(["phrases", "add", str(taken), "--from", "1", "--to", "2", "-q"]) == 0
    capsys.readouterr()
    assert first not in made()
    assert first in made("--also-known")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--pool", "H wonky"], "not a scale or a chord: 'H wonky'"),
        (["--chord", "lala"], "not a chord: 'lala'"),
        (["--pool", "D major", "--start", "b9"], "D major has no degree 'b9'"),
        (["--pool", "D major", "--contour", "wobbles"], "no contour 'wobbles'"),
        (["--pool", "D major", "--rhythm", "jig eighths"], "jig eighths do not fill a measure of 3/4"),
        (["--way", "new"], "a new phrase needs a scale or a chord"),
        (["--way", "ornamented", "--limit", "1"], "no phrase found: the same melody with slurs"),
        (["--take", "9", "-o", "never.tabterm"], "no phrase 9"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(words, told, capsys):
    assert main(["invent", WALTZ, "--from", "1", "--to", "2", *words]) == 2
    assert told in capsys.readouterr().err


def test_the_library_gives_scores_with_the_phrase_in_place():
    piece = tabterm.open(WALTZ, player=tabterm.Player())
    found = piece.invented("answer", 1, 4, count=2, seed=1)
    assert [each.span.start.measure for each in found] == [5, 5]
    assert found[0].score.measures[:5] == piece.score.measures[:5]
    assert tabterm.Piece(found[0].score, piece.player).findings() == piece.findings()
