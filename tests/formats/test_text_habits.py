"""Text tabs as people write them, each with the notes and rhythm it must give (tabs invented here)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import FormatError
from tabterm.formats import text
from tabterm.score.model import Reached, Stroke
from tabterm.score.place import Place, Span
from tabterm.score.query import events_in


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
    assert reading.score.head.title == "Mill Race Reel"
    assert notes_of(reading.score) == [
        (0, 0, 3, 0), (0, Q, 3, 2), (0, 2 * Q, 2, 0), (0, 3 * Q, 2, 2),
        (1, 0, 1, 0), (1, Q, 1, 2), (1, 2 * Q, 1, 3), (1, Fraction(7, 2), 2, 0),
    ]  # fmt: skip
    assert any("rhythm is proposed" in remark.message for remark in reading.remarks)


def test_without_course_letters_and_with_a_margin():
    reading = read("|-0-2-3-5-|\n|---------|\n|---------|\n|---------|\n")
    assert [note[1:] for note in notes_of(reading.score)] == [(0, 1, 0), (Q, 1, 2), (2 * Q, 1, 3), (3 * Q, 1, 5)]


def test_joined_slurs_slides_bends_and_dead_notes():
    reading = read(
        """
E||-----------------|------------------||
A||--2h4-p2-0-------|--3b---x---5~------||
D||------------4/7\\-|-----------------2-||
G||-----------------|------------------||
"""
    )
    first = [note for event in reading.score.measures[0].events for note in event.notes if not note.tied]
    assert [(note.fret, note.reached) for note in first] == [
        (2, Reached.STRUCK), (4, Reached.HAMMER), (2, Reached.PULL), (0, Reached.STRUCK),
        (4, Reached.STRUCK), (7, Reached.SLIDE),
    ]  # fmt: skip
    assert first[-1].slide_out == "down"
    second = [note for event in reading.score.measures[1].events for note in event.notes if not note.tied]
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
    assert [note[3] for note in notes_of(reading.score)] == [12, 10, 7, 5, 5, 3, 2, 0]
    chords = [
        (number, mark.offset, mark.symbol) for number, m in enumerate(reading.score.measures) for mark in m.chords
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
    assert [note[1] for note in notes_of(reading.score)] == [0, E, Q, 2 * Q, Fraction(7, 2)]


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
    assert [note[1] for note in notes_of(reading.score)] == [
        0,
        Fraction(1, 4),
        E,
        Fraction(3, 4),
        Q,
        Fraction(3, 2),
    ]
    strokes = [event.stroke for event in reading.score.measures[0].events if event.takes_stroke]
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
    assert str(reading.score.head.metre) == "3/4"
    assert [str(event.duration) for event in reading.score.measures[0].events] == ["4", "8", "8", "4"]
    assert not any("proposed" in remark.message for remark in reading.remarks)


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
    score = reading.score
    assert score.measures[0].short
    assert score.measures[0].length == Q
    assert [note[1] for note in notes_of(score)[:2]] == [0, E]
    assert score.measures[2].remark == "now slower, please"
    assert any("pickup" in remark.message for remark in reading.remarks)


def test_lines_of_unequal_length_and_tab_characters():
    reading = read("E|----------------|\nA|0---2---\nD|\t0-------|\nG|----------------|\n")
    assert (0, 0, 2, 0) in notes_of(reading.score)
    assert (0, Q, 2, 2) in notes_of(reading.score)


def test_latin_1_is_read():
    reading = text.read("Café Polka\n\nE|0---|\nA|----|\nD|----|\nG|----|\n".encode("latin-1"))
    assert reading.score.head.title == "Café Polka"


def test_other_numbers_of_lines_are_left_out_with_a_remark():
    six = "\n".join(f"{letter}|0---|" for letter in "eBGDAE")
    four = "E|0---|\nA|----|\nD|----|\nG|----|"
    reading = read(f"{six}\n\n{four}\n")
    assert len(reading.score.measures) == 1
    assert any("6 lines is left out" in remark.message for remark in reading.remarks)
    with pytest.raises(FormatError, match="no tab of 4 courses"):
        read(six)


def test_what_is_no_note_is_told_with_line_and_column():
    reading = read("E|----------------|\nA|0---<12>--------|\nD|----------------|\nG|----------------|\n")
    assert [(remark.line, remark.column) for remark in reading.remarks if "no note" in remark.message] == [
        (2, 7),
    ]


def test_a_slur_from_nothing_is_struck_with_a_remark():
    reading = read("E|h2--------------|\nA|----------------|\nD|----------------|\nG|----------------|\n")
    assert reading.score.measures[0].events[0].notes[0].reached is Reached.STRUCK
    assert any("nothing to come from" in remark.message for remark in reading.remarks)


@pytest.mark.parametrize("data", [b"", b"\x00\x01\x02", b"just words\n", b"|" * 100, b"-" * 5000])
def test_what_is_no_tab_is_refused_in_one_line(data):
    with pytest.raises(FormatError) as caught:
        text.read(data)
    assert "\n" not in str(caught.value)
