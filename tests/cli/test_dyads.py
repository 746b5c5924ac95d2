"""`tabterm dyads`: tables of double stops, those of a solo, and JSON."""

from __future__ import annotations

import contextlib
import json

from tabterm.cli.main import main


def test_the_double_stops_of_a_chord_with_degrees_shapes_and_fingers(capsys):
    assert main(["dyads", "D7", "--frets", "0-7", "--degrees", "3-b7"]) == 0
    assert capsys.readouterr().out == (
        "D7 on the Mandolin, frets 0 to 7; the lower course comes first\n"
        "\nD and A\n"
        "  frets  degrees  notes    interval          shape                fingers\n"
        "  4-3    3-b7     F#4-C5   tritone           1 fret back          2-1\n"
    )


def test_those_of_a_scale_as_data_over_a_course_between(capsys):
    words = ["dyads", "G", "major", "pentatonic", "--over", "--frets", "2-5", "--instrument", "mandola", "--json"]
    assert main(words) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["pool"], found["instrument"]) == ("G major pentatonic", "Mandola")
    assert {each["courses"][0] - each["courses"][1] for each in found["dyads"]} == {2}
    assert {"courses", "frets", "notes", "degrees", "interval", "shape", "fingers"} == {*found["dyads"][0]}


def test_the_double_stops_of_a_solo(capsys):
    assert main(["dyads", "--file", "samples/quarry-road-breakdown.tabterm"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "measure 7, beat 1: AE 9-10, 3-1 of D7, minor sixth, 1 fret up"
    assert lines[2].endswith("; 2 frets down")
    assert main(["dyads", "--file", "samples/quarry-road-breakdown.tabterm", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["double_stops"][2]["move"] == "2 frets down"
    assert main(["dyads", "--file", "samples/cinder-lane-two-step.tabterm"]) == 0
    assert capsys.readouterr() == ("no double stops\n", "")  # and it stays on its tenor banjo


def test_what_cannot_be_listed_is_said_in_a_line(capsys):
    for words, trouble in (
        (["dyads"], "no chord or scale named"),
        (["dyads", "G", "majorish"], "not a scale or a chord: 'G majorish'"),
        (["dyads", "G", "--frets", "7-2"], "not frets: '7-2'"),
        (["dyads", "G", "--instrument", "zither"], "zither"),
    ):
        with contextlib.suppress(SystemExit):
            assert main(words) == 2
        assert trouble in capsys.readouterr().err
