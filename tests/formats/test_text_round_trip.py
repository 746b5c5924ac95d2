"""What is written as text tab reads back equal."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.errors import FormatError
from tabterm.formats import text
from tabterm.hand.strokes import with_proposals
from tabterm.instrument import Course, Instrument
from tabterm.score.kinds import Break
from tabterm.score.model import ChordMark, Event, Note, Score
from tabterm.values import plain
from tests.build import PLAYER, event, measure, score
from tests.strategies import operations, scores
from tests.thorough import many

quickly = settings(max_examples=many(30, 80), deadline=None, suppress_health_check=list(HealthCheck))
letters = st.characters(exclude_categories=["Cs"])


def carried(given_score: Score) -> Score:
    """The score without proposals that a choice of the player covers: all that text tab does not carry."""

    def plain(note: Note) -> Note:
        return note if note.finger is None else note.with_(proposed_finger=None)

    def uncovered(each: Event) -> Event:
        stroke = {"proposed_stroke": None} if each.stroke else {}
        return each.with_(notes=tuple(map(plain, each.notes)), grace=tuple(map(plain, each.grace)), **stroke)

    return Score(
        head=given_score.head,
        measures=tuple(each.with_(events=tuple(map(uncovered, each.events))) for each in given_score.measures),
    )


def assert_reads_back(wanted, width, rows=text.DEFAULT_ROWS):
    written = text.write(wanted, width=width, rows=rows)
    reading = text.read(written)
    assert reading.music.head == wanted.head
    assert reading.music == wanted
    assert reading.report.remarks == ()
    return written.decode()


@quickly
@given(scores(max_measures=4), st.integers(20, 400))
def test_round_trip_is_exact(drawn, width):
    assert_reads_back(carried(drawn), width)


@quickly
@given(scores(max_measures=2), st.integers(20, 400))
def test_rows_that_are_worked_out_of_the_others_are_not_read(drawn, width):
    written = assert_reads_back(carried(drawn), width, text.ROWS)
    assert all(f"\n{row}" in written for row in ("degree", "tonic", "class", "roman"))


@quickly
@given(scores(max_measures=2), st.integers(20, 120), st.data())
def test_round_trip_is_exact_after_operations_and_proposals(drawn, width, data):
    for _ in range(3):
        drawn = data.draw(operations(drawn))
    assert_reads_back(carried(with_proposals(drawn, PLAYER)), width)


instruments = st.builds(
    Instrument,
    name=st.text(letters, min_size=1, max_size=20)
    | st.sampled_from(["mandolin", "MANDOLA", "tenor-banjo", " x "]),
    courses=st.lists(
        st.builds(Course, pitch=st.integers(0, 90), octave=st.booleans())
        | st.builds(Course, pitch=st.integers(0, 90), single=st.booleans()),
        min_size=4,
        max_size=8,
    ).map(tuple),
    frets=st.integers(1, 36),
    scale_length_mm=st.floats(101, 1999),
    course_pitch_nut_mm=st.floats(1.1, 29),
    course_pitch_bridge_mm=st.floats(1.1, 39),
    program=st.integers(0, 127),
)


@quickly
@given(st.data(), scores(max_measures=1), instruments, st.text(letters, max_size=30))
def test_any_words_and_instruments_survive(data, drawn, instrument, words):
    drawn = carried(drawn)
    head = drawn.head.with_(instrument=instrument, title=words, credits=(words, words[::-1]), foreword=words)
    only = drawn.measures[0].with_(section=words, remark=words[::-1])
    symbols = st.text(letters, min_size=1, max_size=8).filter(lambda each: not any(c.isspace() for c in each))
    offsets = sorted(data.draw(st.sets(st.sampled_from(only.onsets), max_size=2)) | {only.length / 3})
    only = only.with_(chords=tuple(ChordMark(offset=at, symbol=data.draw(symbols)) for at in offsets))
    assert_reads_back(Score(head=head, measures=(only,)), 80)


def test_set_and_proposed_are_told_apart():
    notes = (Note(course=1, fret=3, finger=2), Note(course=2, fret=2, proposed_finger=1))
    grace = (Note(course=1, fret=2, finger=1), Note(course=2, fret=0, proposed_finger=0))
    events = (
        event("4").with_(notes=notes, stroke="down"),
        event("4").with_(notes=notes[1:], proposed_stroke="up"),
        event("2").with_(notes=notes[:1], grace=grace, stroke="none"),
    )
    written = assert_reads_back(score(measure("1").with_(events=events)), 80)
    rows = {line.split()[0]: line.split()[1:] for line in written.splitlines() if line[:1] in ("f", "s")}
    assert rows["finger"] == ["21?", "1?", "{10?}2"]
    assert rows["stroke"] == ["D", "u", "N"]


def test_systems_line_up_and_fit_the_width():
    tune = score(*["8 1.2,8 h1.3,8 2.0,8 3.2,8 4.1,8 1.5,8 2.2 3.4,8 2.2"] * 7)
    for width in (20, 33, 34, 40, 73, 74, 100, 400):
        systems = assert_reads_back(tune, width).split("\n\n")[1:]
        for system in systems:
            courses = [line for line in system.splitlines() if line[0] in "EADG"]
            assert len(courses) == 4
            assert len({len(line) for line in courses}) == 1
            assert all(len(line) <= width for line in system.splitlines())
            bars = [[x for x, sign in enumerate(line) if sign == "|"] for line in courses]
            assert bars[1:] == bars[:-1]


def test_a_break_of_the_sheet_begins_a_system_of_the_tab():
    bars = ("1 1.0", measure("1 1.2", break_before=Break.SYSTEM), "1 1.3")
    lines = text.write(score(*bars)).decode().splitlines()
    assert [line.count("|") for line in lines if line.startswith("E ")] == [2, 3]


@quickly
@given(scores(max_measures=2), st.data())
def test_damaged_text_is_read_or_refused(drawn, data):
    written = text.write(drawn, width=60)
    scraps = [b"9", b"|", b":", b"\n", b"-", b"{", "²".encode(), b" 1 ", b"@1e999999999", b"\xff", b"h", b"\\"]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(written)))
        scrap = data.draw(st.binary(max_size=3) | st.sampled_from(scraps))
        written = written[:at] + scrap + written[at + data.draw(st.integers(0, 6)) :]
    read_or_refused(written)


lines = st.sampled_from(
    """
E|--0-2-h3-|----|
A|-(2)--x5~-|:---:|
D|---7b9r7--5/--|
G|-----------|
= 1 times 1
= 1 ending 0
= 2 section "x" metre 3/4
= 1 source C4:4,4
= 99 remark "a"
chord  G  C@7 C@1e999999999
count 1 & ² 0 e 12 1e&a
count 1 & 2 & 3
rhythm 8  8t 4. 64(9999:1)
finger 1 24 {5
stroke D u x
time: 3/8
metre: 99/1
neck: 99 frets, 1. mm, courses 1 to 2 mm, program 999
tuning: C9 B9 A9 G9
tuning: DADG
swing: 8 0:1
hand: nan mm
instrument: mandola
G  C  (D7)
1 & 2 &
q e e
||*---||---o|| x2

words here
""".splitlines()
)


@settings(quickly, max_examples=many(120, 300))
@given(st.lists(lines, max_size=14))
def test_any_heap_of_lines_is_read_or_refused(heap):
    read_or_refused("\n".join(heap).encode())


def read_or_refused(data):
    try:
        text.read(data)
    except FormatError as error:
        assert "\n" not in str(error)  # noqa: PT017


PAGE = (Path(__file__).parents[2] / "docs" / "format.md").read_text(encoding="utf-8")
SIGNS = {
    "5": {},
    "h5": {"reached": "hammer"},
    "p3": {"fret": 3, "reached": "pull"},
    "/7": {"fret": 7, "reached": "slide"},
    "\\4": {"fret": 4, "reached": "slide"},
    "^5": {"slide_in": "up"},
    "_5": {"slide_in": "down"},
    "5/": {"slide_out": "up"},
    "5\\": {"slide_out": "down"},
    "(5)": {"tied": True},
    "x": {"fret": 0, "muted": True},
    "x5": {"muted": True},
    "5b": {"bend": {}},
    "5b100c": {"bend": {"cents": 100}},
    "5br": {"bend": {"shape": "rise-and-fall"}},
    "5r": {"bend": {"shape": "fall"}},
    "5~": {"vibrato": True},
    "5=": {"ring": True},
    "5@": {"course_set": True},
}
"""Signs in the table of the page, and what the note is, where it is not a plain one at fret 5."""
EVENT_SIGNS = {
    "5>": {"accent": True},
    "5'": {"staccato": True},
    "5;": {"damp": True},
    "5%": {"tremolo": True},
    "5[": {"roll": "up"},
    "5]": {"roll": "down"},
    "{4}5": {"grace": [{"course": 1, "fret": 4}]},
    "{3:4}5": {"grace": [{"course": 3, "fret": 4}]},
}


def test_each_sign_of_the_page_is_listed():
    table = PAGE.partition("| sign | meaning |")[2].partition("\n\n")[0]
    listed = [sign for row in table.splitlines() for sign in re.findall(r"`([^`]+)`", row.split(" | ")[0])]
    assert sorted(listed) == sorted({**SIGNS, **EVENT_SIGNS})


@pytest.mark.parametrize("sign", {**SIGNS, **EVENT_SIGNS})
def test_a_sign_means_what_the_page_says(sign):
    before = 5 if sign in {"(5)", "p3", "\\4"} else 3
    others = "".join(f"{course}|{'-' * (7 + len(sign))}|\n" for course in "ADG")
    reading = text.read(f"time: 2/4\n\nE|{before}---{sign}--|\n{others}".encode())
    (_, read) = reading.music.measures[0].events
    note = {"course": 1, "fret": 5, **SIGNS.get(sign, {})}
    wanted = {"duration": "4", "notes": [note], **EVENT_SIGNS.get(sign, {})}
    assert plain(read) == wanted


MARKS = {
    "short yes": {"short": True, "events": [{"duration": "4"}]},
    'section "A"': {"section": "A"},
    'remark "slow here"': {"remark": "slow here"},
    "metre 3/4": {"metre": "3/4", "events": [{"duration": "2."}]},
    "key A mixolydian": {"key": "A mixolydian"},
    "tempo 1/4=96": {"tempo": "1/4=96"},
    "strokes glide": {"school": "glide"},
    "break system": {"break_before": "system"},
    "break page": {"break_before": "page"},
    "ending 1,2": {"endings": [1, 2]},
    "times 3": {"repeat_times": 3},
    "source A4:4,B4/D5:8,8": {
        "source": [{"duration": "4", "pitches": [69]}, {"duration": "8", "pitches": [71, 74]}, {"duration": "8"}]
    },
    'heard "0:91:G 3/2:64:D7"': {
        "heard_chords": [{"offset": "0", "symbol": "G", "sure": 91}, {"offset": "3/2", "symbol": "D7", "sure": 64}]
    },
    "source {G4}hA4>:8,B4b100c+D5~:4.": {
        "source": [
            {
                "duration": "8",
                "pitches": [69],
                "marks": {
                    "notes": [{"pitch": 69, "reached": "hammer"}],
                    "accent": True,
                    "grace": [{"pitch": 67}],
                },
            },
            {
                "duration": "4.",
                "pitches": [71, 74],
                "marks": {"notes": [{"pitch": 71, "bend": {"cents": 100}}, {"pitch": 74, "vibrato": True}]},
            },
        ]
    },
}
"""Marks of a measure in the table of the page, and what they set."""


@pytest.mark.parametrize("mark", MARKS)
def test_a_mark_of_a_measure_sets_what_the_page_says(mark):
    assert f"`{mark}`" in PAGE
    wanted = {"events": [{"duration": "2"}], **MARKS[mark]}
    length = wanted["events"][0]["duration"]
    end = ":|" if mark == "times 3" else "|"
    lines = [f"{course}      |{'-' * {'2.': 6, '2': 4, '4': 2}[length]}" for course in "EADG"]
    written = ["time: 2/4", "", "rhythm  2", *(f"{course}      |----|" for course in "EADG"), ""]
    written += [f"= 2 {mark}", f"rhythm  {length}", *(line + end for line in lines), ""]
    second = text.read("\n".join(written).encode()).music.measures[1]
    assert plain(second) == wanted
