"""`tabterm explain`: sentences and JSON, from any readable format."""

from __future__ import annotations

import json

from tabterm import formats
from tabterm.cli.main import main
from tabterm.score.key import Key
from tests.build import music
from tests.harmony.test_progression import over

LINE = "4 3.5,4 2.2,4 2.5,4 2.2 | 4 2.0,4 3.4,4 2.0,4 2.3 | 2 2.2,2 3.5"


def test_a_solo_in_sentences_phrase_by_phrase(capsys):
    assert main(["explain", "samples/quarry-road-breakdown.tabterm", "--from", "9", "--to", "10"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Quarry Road Breakdown. It is written in G: 99% of the melody is in its scale,")
    assert "\n\nMeasures 9 to 12 (section B)\n  The chords are G and C: I and IV in G." in out
    assert out.count("\n\n") == 1


def test_phrases_are_headed_by_where_they_begin(capsys):
    assert main(["explain", "samples/quarry-road-breakdown.tabterm"]) == 0
    heads = [line for line in capsys.readouterr().out.splitlines() if line[:1] in "MP" and "easure" in line]
    assert heads == [
        "Pickup to measure 4 (section A)",
        "Measure 4, beat 4, to measure 8",
        "Measures 9 to 12 (section B)",
        "Measures 13 to 16",
    ]


def test_the_pickup_of_a_later_part_is_called_one(capsys):
    assert main(["explain", "samples/ferrymans-jig.tabterm"]) == 0
    heads = [line for line in capsys.readouterr().out.splitlines() if line[:1] in "MP" and "easure" in line]
    assert heads[2] == "Pickup (measure 9) to measure 13 (section B)"


def test_a_phrase_does_not_begin_with_the_rest_before_a_repeat(capsys):
    """Where a part ends with a held note and a rest, the next phrase begins behind the repeat."""
    assert main(["explain", "samples/boil-them-cabbage-down.abc"]) == 0
    out = capsys.readouterr().out
    assert "\n\nMeasures 9 to 12\n" in out
    assert "beat 2&" not in out


def test_a_note_of_the_key_lies_outside_the_chord_not_outside(capsys):
    assert main(["explain", "samples/boil-them-cabbage-down.abc", "--from", "5", "--to", "8"]) == 0
    assert "A lies outside the chord it is played over." in " ".join(capsys.readouterr().out.split())


def test_a_scale_that_a_chord_contradicts_does_not_explain_it(capsys):
    """Two measures of G7 and two of C, with F# in passing, are C; G major would have F# for the F of G7."""
    assert main(["explain", "samples/cinder-lane-two-step.tabterm", "--from", "5", "--to", "8"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "The notes are from C major;" in out
    assert "G7 and C make a cadence V7 I." in out


def test_the_same_as_data(capsys):
    assert main(["explain", "samples/quarry-road-breakdown.tabterm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    second = found["phrases"][1]
    assert (found["key"]["written"], found["key"]["guesses"][0]["key"]) == ("G", "G")
    assert second["from"] == {"measure": 4, "onset": "3"}
    assert [chord["roman"] for chord in second["chords"]] == ["IV", "I", "V7"]
    assert second["pools"][0]["name"] == "G major"
    assert [(stray["name"], stray["class"]) for stray in second["pools"][0]["outside"]] == [
        ("Bb", "blue third"),
        ("Db", "blue note"),
    ]
    assert found["proposals"] == []


def test_a_line_without_symbols_gets_chords_with_reasons(tmp_path, capsys):
    path = tmp_path / "line.tabterm"
    formats.write(path, music(LINE, key=Key.parse("G")))
    assert main(["explain", str(path)]) == 0
    assert "  measure 2: D7 (has F# A C: 100% of the measure, leads to G), or D" in capsys.readouterr().out
    assert main(["explain", str(path), "--json"]) == 0
    proposed = json.loads(capsys.readouterr().out)["proposals"]
    assert [each["chords"][0]["roman"] for each in proposed] == ["I", "V7", "I"]


def test_what_is_written_in_one_key_and_sounds_in_another_is_said(tmp_path, capsys):
    """Twelve measures of blues in A under the signature of E flat."""
    blues = over(";".join(f" {each}7 " for each in "AAAADDAAEDAE"), "A")
    path = tmp_path / "blues.tabterm"
    formats.write(path, blues.with_(head=blues.head.with_(key=Key.parse("Eb"))))
    assert main(["explain", str(path)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "It sounds more like " in out
    formats.write(path, blues)
    assert main(["explain", str(path)]) == 0
    assert "Measures 1 to 12 are a 12-bar blues." in " ".join(capsys.readouterr().out.split())


def test_silence_and_measures_that_are_not_there_are_named(tmp_path, capsys):
    path = tmp_path / "silent.tabterm"
    formats.write(path, music("1"))
    assert main(["explain", str(path)]) == 2
    assert ": no notes here" in capsys.readouterr().err
    assert main(["explain", "samples/quarry-road-breakdown.tabterm", "--from", "99"]) == 2
    assert "no measure 99" in capsys.readouterr().err
