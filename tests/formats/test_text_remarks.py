"""What cannot be read in a text tab, or is proposed, is said with its line and column."""

from __future__ import annotations

import time

import pytest

from tabterm.errors import FormatError
from tabterm.formats import text
from tabterm.score.kinds import Reached
from tests.formats.test_text_habits import notes_of, read


def test_other_numbers_of_lines_are_left_out_with_a_remark():
    six = "\n".join(f"{letter}|0---|" for letter in "eBGDAE")
    four = "E|0---|\nA|----|\nD|----|\nG|----|"
    reading = read(f"{six}\n\n{four}\n")
    assert len(reading.music.measures) == 1
    assert any("6 lines is left out" in remark.message for remark in reading.report.remarks)
    for size in (3, 5):
        others = "".join(f"{letter}|0---|\n" for letter in "EADGC"[:size])
        reading = read(f"{others}\n{four}\n")
        assert any(f"{size} lines is left out" in remark.message for remark in reading.report.remarks)
    with pytest.raises(FormatError, match="no tab of 4 courses"):
        read(six)


def test_lines_with_strange_signs_are_lines_all_the_same():
    reading = read("E|0---2v--3---5t--|\nA|----------------|\nD|----------------|\nG|----------------|\n")
    assert [note[3] for note in notes_of(reading.music)] == [0, 2, 3, 5]
    assert [(r.line, r.column) for r in reading.report.remarks if "not a note" in r.message] == [(1, 8), (1, 16)]


def test_what_is_no_note_is_told_with_line_and_column():
    reading = read("E|----------------|\nA|0---<12>--------|\nD|----------------|\nG|----------------|\n")
    assert [
        (remark.line, remark.column) for remark in reading.report.remarks if "not a note" in remark.message
    ] == [
        (2, 7),
    ]


def test_a_slur_from_nothing_is_struck_with_a_remark():
    reading = read("E|h2--------------|\nA|----------------|\nD|----------------|\nG|----------------|\n")
    assert reading.music.measures[0].events[0].notes[0].reached is Reached.STRUCK
    assert any("no note before it" in remark.message for remark in reading.report.remarks)


@pytest.mark.parametrize(
    ("above", "system", "below", "line", "column", "words"),
    [
        ("  q       h", "0---2---3---5---", "", 1, 3, "durations do not fit the notes"),
        ("  q   5   q   q", "0---2---3---5---", "", 0, 0, "proposed from the spacing"),
        ("= 7 times 3", "0---2---3---5---", "", 1, 1, "no measure 7"),
        ("= 1 times 1", "0---2---3---5---", "", 1, 1, "the times cannot be read: '1'"),
        ("= 1 source C4:4", "0---2---3---5---", "", 2, 3, "original line does not fill"),
        ('= 1 heard "4:61:G"', "0---2---3---5---", "", 2, 3, "chords that were heard do not fit"),
        ('= 1 heard "0:high:G"', "0---2---3---5---", "", 1, 1, "the heard cannot be read"),
        ("= 1 source H4:4", "0---2---3---5---", "", 1, 1, "the source cannot be read: 'H4:4'"),
        ("= 1 source C4:4*3", "0---2---3---5---", "", 1, 1, "(write one such as 8, 4. or 16(3:2))"),
        ("= 1 tempo 4=", "0---2---3---5---", "", 1, 1, "the tempo cannot be read: '4=' (write 104 (quarters), or"),
        (
            "tempo: fast",
            "0---2---3---5---",
            "",
            1,
            1,
            "the tempo cannot be read: 'fast' (write 104 (quarters), or",
        ),
        (
            "rhythm  8   8*3 8   2",
            "0---2---3---5---",
            "",
            1,
            13,
            "not a note value: '8*3' (such as 8, 4., -8 for a rest, [8 8 8]3)",
        ),
        ("rhythm [4   4   4   4", "0---2---3---5---", "", 1, 9, "bracket has only one end"),
        ("rhythm  4   4]3 2   4", "0---2---3---5---", "", 1, 13, "bracket has only one end"),
        ("rhythm  4   4]0 2   4", "0---2---3---5---", "", 1, 13, "not a note value: '4]0'"),
        ("chord   G@9/2", "0---2---3---5---", "", 1, 9, "'G@9/2' has no place"),
        ("", "0---2b20-3--5---", "", 2, 7, "a bend of less than 5 or more than 400 cents"),
        ("", "0---{99}2-3-5---", "", 2, 7, "'99' as a grace note"),
        ("", "0---2---3---5---", "finger  7", 6, 9, "not a finger: '7'"),
        ("", "0---------------", "stroke      D", 6, 13, "the stroke 'D' is under no note"),
    ],
)
def test_nothing_is_lost_unsaid(above, system, below, line, column, words):
    reading = read(f"{above}\nE|{system}|\nA|{'-' * 16}|\nD|{'-' * 16}|\nG|{'-' * 16}|\n{below}\n")
    found = [(each.line, each.column) for each in reading.report.remarks if words in each.message]
    assert found == [(line, column)]


def test_only_some_systems_with_note_values():
    tab = "E|0---2---3---5---|\n" + "".join(f"{c}|{'-' * 16}|\n" for c in "ADG")
    reading = read(f"  e   q.  q   q\n{tab}\n{tab}")
    assert [str(event.duration) for event in reading.music.measures[0].events] == ["8", "4.", "4", "4"]
    assert [(each.line, each.message.split(":")[0]) for each in reading.report.remarks] == [
        (7, "no durations are given here")
    ]


@pytest.mark.parametrize(
    "line",
    [
        "title:x" + " " * 50_000 + "x",
        " " * 50_000 + "x",
        "1" * 60 + "x",
        "E|-" + "{1," * 20_000,
        "count  " + "1a" * 9_999,
    ],
    ids=["title", "spaces", "figures", "braces", "count"],
)
def test_no_line_takes_long(line):
    tab = "E|0---|\nA|----|\nD|----|\nG|----|\n"
    start = time.perf_counter()
    assert len(read(f"{line}\n\n{tab}").music.measures) == 1
    assert time.perf_counter() - start < 2


@pytest.mark.parametrize("data", [b"", b"\x00\x01\x02", b"just words\n", b"|" * 100, b"-" * 5000])
def test_what_is_no_tab_is_refused_in_one_line(data):
    with pytest.raises(FormatError) as caught:
        text.read(data)
    assert "\n" not in str(caught.value)


def test_a_measure_that_is_marked_as_short_and_holds_nothing_is_whole():
    rows = {"rhythm": "4   4   2      |1         |         |"}
    rows |= {"E": "0---2---3------|5---------|---------|"} | dict.fromkeys(
        "ADG", "---------------|----------|---------|"
    )
    tab = "\n".join(f"{name:7}|{row}" if name != "rhythm" else f"{name:7} {row}" for name, row in rows.items())
    reading = text.read(f"metre: 4/4\n\n= 3 short yes source 4\n{tab}\n".encode())
    assert [measure.length for measure in reading.music.measures] == [4, 4, 4]
    assert not any(event.notes for event in reading.music.measures[2].events)
    said = [remark.message for remark in reading.report.remarks]
    assert "4 quarters are missing and filled with rests" in said
    assert "the original line does not fill its measure and is left out" in said


def test_twenty_thousand_notes_without_a_bar_line_do_not_take_long():
    notes = "0-2-3--5-" * 5_000
    tab = f"time: 4/4\n\nE {notes}\n" + "".join(f"{name} {'-' * len(notes)}\n" for name in "ADG")
    start = time.process_time()
    assert len(read(tab).music.measures) == 2_500
    assert time.process_time() - start < 10  # s of this process alone; 3 measured here
