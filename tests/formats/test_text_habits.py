"""Text tabs as people write them, each with the notes and rhythm it must give (tabs invented here)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.formats import text
from tabterm.score.kinds import ChordNames, Reached, Stroke
from tabterm.score.place import Place, Span
from tabterm.score.query import events_in
from tests.harmony.symbols import SYMBOLS


def notes_of(score):
    """(measure, offset, course, fret) of every note that is struck or slurred."""
    whole = Span(Place(0), Place(len(score.measures)))
    return [
        (place.measure, place.offset, note.course, note.fret)
        for place, event in events_in(score, whole)
        for note in event.notes
        if not note.tied
    ]


def read(lines):
    return text.read(lines.encode())


Q, E = Fraction(1), Fraction(1, 2)


def test_small_letters_and_even_spacing():
    reading = read(
        """
Mill Race Reel

e|----------------|0---2---3-------|
a|--------0---2---|--------------0-|
d|0---2-----------|----------------|
g|----------------|----------------|
"""
    )
    assert reading.music.head.title == "Mill Race Reel"
    assert notes_of(reading.music) == [
        (0, 0, 3, 0), (0, Q, 3, 2), (0, 2 * Q, 2, 0), (0, 3 * Q, 2, 2),
        (1, 0, 1, 0), (1, Q, 1, 2), (1, 2 * Q, 1, 3), (1, Fraction(7, 2), 2, 0),
    ]  # fmt: skip
    assert any("rhythm is proposed" in remark.message for remark in reading.report.remarks)


def test_without_course_letters_and_with_a_margin():
    reading = read("|-0-2-3-5-|\n|---------|\n|---------|\n|---------|\n")
    assert [note[1:] for note in notes_of(reading.music)] == [(0, 1, 0), (Q, 1, 2), (2 * Q, 1, 3), (3 * Q, 1, 5)]


def test_joined_slurs_slides_bends_and_dead_notes():
    reading = read(
        """
E||-----------------|------------------||
A||--2h4-p2-0-------|--3b---x---5~------||
D||------------4/7\\-|-----------------2-||
G||-----------------|------------------||
"""
    )
    first = [note for event in reading.music.measures[0].events for note in event.notes if not note.tied]
    assert [(note.fret, note.reached) for note in first] == [
        (2, Reached.STRUCK), (4, Reached.HAMMER), (2, Reached.PULL), (0, Reached.STRUCK),
        (4, Reached.STRUCK), (7, Reached.SLIDE),
    ]  # fmt: skip
    assert first[-1].slide_out == "down"
    second = [note for event in reading.music.measures[1].events for note in event.notes if not note.tied]
    assert second[0].bend is not None
    assert second[0].bend.cents == 50
    assert second[1].muted
    assert second[2].vibrato


def test_two_digit_frets_and_chords_above():
    reading = read(
        """
  G               D7
e|12--10--7---5---|--------2---0---|
a|----------------|5---3-----------|
d|----------------|----------------|
g|----------------|----------------|
"""
    )
    assert [note[3] for note in notes_of(reading.music)] == [12, 10, 7, 5, 5, 3, 2, 0]
    chords = [
        (number, mark.offset, mark.symbol) for number, m in enumerate(reading.music.measures) for mark in m.chords
    ]
    assert chords == [(0, 0, "G"), (1, 0, "D7")]


def test_count_row_decides_the_rhythm():
    reading = read(
        """
  1 & 2 & 3 & 4 &
E|----------------|
A|0-2-3---5-------|
D|--------------4-|
G|----------------|
"""
    )
    assert [note[1] for note in notes_of(reading.music)] == [0, E, Q, 2 * Q, Fraction(7, 2)]


def test_count_row_with_sixteenths_and_strokes_below():
    reading = read(
        """
   1  e  &  a  2     &
E |-----------------------|
A |0--2--3--5--3-----2----|
D |-----------------------|
G |-----------------------|
   D  U  D  U  D     U
"""
    )
    assert [note[1] for note in notes_of(reading.music)] == [
        0,
        Fraction(1, 4),
        E,
        Fraction(3, 4),
        Q,
        Fraction(3, 2),
    ]
    strokes = [event.stroke for event in reading.music.measures[0].events if event.takes_stroke]
    assert strokes == [Stroke.DOWN, Stroke.UP, Stroke.DOWN, Stroke.UP, Stroke.DOWN, Stroke.UP]


def test_letters_of_note_values_above():
    reading = read(
        """
Time: 3/4
  q    e  e  q
E|--------------|
A|0----2--3--5--|
D|--------------|
G|--------------|
"""
    )
    assert str(reading.music.head.metre) == "3/4"
    assert [str(event.duration) for event in reading.music.measures[0].events] == ["4", "8", "8", "4"]
    assert not any("proposed" in remark.message for remark in reading.report.remarks)


def test_pickup_words_between_systems_and_lines_of_other_endings():
    lines = [
        "time: 4/4",
        "",
        "E|----|----------------|",
        "A|0-2-|3---2---0-------|",
        "D|----|------------4---|",
        "G|----|----------------|",
        "",
        "now slower, please",
        "",
        "E|----------------|",
        "A|0---------------|",
        "D|----------------|",
        "G|----------------|",
    ]
    body = "\ufeff" + "\r\n".join(lines)
    reading = text.read(body.encode())
    score = reading.music
    assert score.measures[0].short
    assert score.measures[0].length == Q
    assert [note[1] for note in notes_of(score)[:2]] == [0, E]
    assert score.measures[2].remark == "now slower, please"
    assert any("pickup" in remark.message for remark in reading.report.remarks)


def test_lines_of_unequal_length_and_tab_characters():
    reading = read("E|----------------|\nA|0---2---\nD|\t0-------|\nG|----------------|\n")
    assert (0, 0, 2, 0) in notes_of(reading.music)
    assert (0, Q, 2, 2) in notes_of(reading.music)


def test_latin_1_is_read():
    reading = text.read("Café Polka\n\nE|0---|\nA|----|\nD|----|\nG|----|\n".encode("latin-1"))
    assert reading.music.head.title == "Café Polka"


def test_repeat_dots_on_the_middle_lines_and_words_behind_the_last_bar():
    reading = read(
        """
E||-----------------|----------------|| x2
A||*0---2---3---5---|0--------------*||
D||*----------------|---------------*||
G||-----------------|----------------||
"""
    )
    first, last = reading.music.measures
    assert first.repeat_start
    assert last.repeat_times == 2
    assert [note[1] for note in notes_of(reading.music)] == [0, Q, 2 * Q, 3 * Q, 0]
    assert [(r.line, r.column, r.message) for r in reading.report.remarks if r.line] == [
        (2, 41, "'x2' after the last bar line is left out")
    ]


@pytest.mark.parametrize("dots", ["::", "oo", "  "])
def test_repeats_by_other_dots(dots):
    start, end = dots
    reading = read(
        f"E|-0---2-------|--------|\nA|{start}------------|0------{end}|\nD|-------------|--------|\nG|-------------|--------|\n"
    )
    first, last = reading.music.measures
    assert (first.repeat_start, last.repeat_times) == ((False, 0) if dots == "  " else (True, 2))


@pytest.mark.parametrize(
    ("letters", "name", "pitches", "turned"),
    [
        ("EADG", "Mandolin", [76, 69, 62, 55], False),
        ("eadg", "Mandolin", [76, 69, 62, 55], False),
        ("ADGC", "Mandola", [69, 62, 55, 48], False),
        ("GDAE", "Mandolin", [76, 69, 62, 55], True),
        ("DADG", "Mandolin", [74, 69, 62, 55], False),  # retuned courses, highest first
        ("GDAD", "Mandolin", [74, 69, 62, 55], True),
    ],
)
def test_course_letters_tell_the_tuning(letters, name, pitches, turned):
    frets = ["0---2---3---5---", *["-" * 16] * 3]
    reading = read("".join(f"{letter}|{line}|\n" for letter, line in zip(letters, frets, strict=True)))
    instrument = reading.music.head.instrument
    assert instrument.name == name
    assert [course.pitch for course in instrument.courses] == pitches
    assert {note[2] for note in notes_of(reading.music)} == {4 if turned else 1}
    assert any("turned over" in remark.message for remark in reading.report.remarks) == turned
    assert any("are read as" in remark.message for remark in reading.report.remarks) == (
        pitches != [76, 69, 62, 55]
    )


def test_the_head_goes_before_the_letters():
    tab = "A|0---2---3---5---|\nD|----------------|\nG|----------------|\nC|----------------|\n"
    reading = read(f"Instrument: tenor-banjo\nTempo: 120 bpm\nKey: G\nTime: 3/4\n\n{tab}")
    head = reading.music.head
    assert (head.instrument.name, str(head.tempo), str(head.key), str(head.metre)) == (
        "Tenor banjo", "1/4=120", "G", "3/4",
    )  # fmt: skip
    assert [course.pitch for course in read(f"tuning: GDAD\n\n{tab}").music.head.instrument.courses] == [
        74, 69, 62, 55,
    ]  # fmt: skip
    reading = read(f"instrument: mandolin\n\n{tab}")
    assert any("letters disagree with the tuning" in remark.message for remark in reading.report.remarks)


def test_count_without_spaces_and_numbers_of_measures():
    reading = read(
        "  1e&a2e&a3e&a4e&a\nE|0-2-3---5-------|\nA|--------------4-|\nD|----------------|\nG|----------------|\n"
    )
    assert [note[1] for note in notes_of(reading.music)] == [0, E, Q, 2 * Q, Fraction(7, 2)]
    tab = "E|0---2---3---5---|0---2---3---5---|\n" + "".join(f"{c}|{'-' * 16}|{'-' * 16}|\n" for c in "ADG")
    numbered = read("  5                6\n" + tab)
    assert [note[1] for note in notes_of(numbered.music)] == [0, Q, 2 * Q, 3 * Q] * 2


def test_systems_without_a_gap_and_rows_that_belong_to_the_next():
    system = "E|0---2---3---5---|\nA|----------------|\nD|----------------|\nG|----------------|\n"
    reading = read(f"[Low part]\n| G     | (C)\n{system}  D   U   D   U\n  D7\n{system}{system}")
    measures = reading.music.measures
    assert len(measures) == 3
    assert measures[0].section == "Low part"
    assert [[mark.symbol for mark in each.chords] for each in measures] == [["G", "(C)"], ["D7"], []]
    assert [[event.stroke for event in each.events] for each in measures[:2]] == [
        [Stroke.DOWN, Stroke.UP] * 2,
        [None] * 4,
    ]


def test_slurs_apart_from_their_notes_releases_and_tight_figures():
    lines = "E|2---h4--p2--0---|\nA|----------------|\nD|----------------|\nG|----------------|\n"
    apart = "E|2--h-4--p-2-0---|\nA|----------------|\nD|----------------|\nG|----------------|\n"
    for each in (lines, apart):
        notes = [event.notes[0] for event in read(each).music.measures[0].events]
        assert [(note.fret, note.reached) for note in notes if not note.tied] == [
            (2, Reached.STRUCK), (4, Reached.HAMMER), (2, Reached.PULL), (0, Reached.STRUCK),
        ]  # fmt: skip
    bent = read("E|7b9r7---2---|\nA|-----------|\nD|-----------|\nG|-----------|\n")
    assert [note[3] for note in notes_of(bent.music)] == [7, 2]
    assert bent.music.measures[0].events[0].notes[0].bend.shape == "rise-and-fall"
    tight = read("E|-10-12-14-15--|\nA|--------------|\nD|--------------|\nG|--------------|\n")
    assert [note[1] for note in notes_of(tight.music)] == [0, Q, 2 * Q, 3 * Q]


TAB = "E|0---2---3---5---|0---2---3---5---|\n" + "".join(f"{c}|{'-' * 16}|{'-' * 16}|\n" for c in "ADG")


@pytest.mark.parametrize(
    "line",
    [
        *["H Em", "Hm7 F#", "B♭ F♯m", "C△7 C\N{MINUS SIGN}7", "CMaj7 Cm/maj7", "(C) n.c.", "Fis Cism", "[Am] NC"],
        *["G | C % | D", "(G D)", "G7wat C D", "C C7wat/Q Am", "Hm B7 △wat C△7"],
    ],
)
@pytest.mark.parametrize("gap", ["", "\n"])
def test_a_chord_line_is_never_a_title(line, gap):
    """Spellings of chord symbols: common practice, no source. What the player wrote stays as it is."""
    reading = read(f"  {line}\n{gap}{TAB}")
    assert reading.music.head.title == ""
    if not gap:
        written = [mark.symbol for each in reading.music.measures for mark in each.chords]
        assert set(written) <= set(line.split()) - {"%", "|"}
        assert written[0] == line.split()[0]


GERMAN = ("H", "Hm7", "Fis", "Cism", "Es", "As7", "E/H", "Dismaj7", "N.C.", "n.c.", "NC", "N/C")
LINES = (
    "{0}",
    "  {0}      {0}",
    "  G   {0}   D7",
    "({0})",
    "| {0} | {0} |",
    "  {0}  %",
    "  {0}   (x2)",
    "  {0}, G",
    "{0}*",
)


@pytest.mark.parametrize("number", range(len(LINES)))
def test_no_spelling_of_a_chord_above_a_tab_is_a_title_or_a_course(number):
    """Every symbol of the table, German names and rests of the band, alone and as people write several."""
    for symbol in (*SYMBOLS, *GERMAN)[number :: len(LINES)] + GERMAN:
        line = LINES[number].format(symbol)
        for gap in ("", "\n"):
            music = read(f"{line}\n{gap}{TAB}").music
            assert (music.head.title, music.head.credits, len(music.measures)) == ("", (), 2), line
        (first, *_) = read(f"{line}\n{TAB}").music.measures[0].chords
        assert first.symbol in line.replace("|", " ").split() or f"({first.symbol})" in line, line


def test_a_course_with_one_note_is_no_chord():
    """Four of them below each other are a tab, however much `A-7---` begins like a chord."""
    music = read("E-----\nA-7---\nD-----\nG-----\n").music
    assert notes_of(music) == [(0, 0, 2, 7)]


@pytest.mark.parametrize(
    "line", ["A Little Reel", "Am Bach", "Haste to the Wedding", "D C Marching", "Emma", "A B C Song"]
)
def test_a_title_that_begins_like_a_chord_is_one(line):
    assert read(f"{line}\n{TAB}").music.head.title == line


def test_a_head_may_say_how_chords_are_named():
    reading = read(f"chord names: German\n\n  B7\n{TAB}")
    assert reading.music.chord_names is ChordNames.GERMAN
    assert b"chord names: german" in text.write(reading.music)
    assert reading.music.measures[0].chords[0].symbol == "B7"
