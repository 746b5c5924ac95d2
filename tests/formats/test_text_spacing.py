"""Rhythm from spacing, beside what a teacher reads from the same tab (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest

from tabterm.score.place import Place, Span
from tabterm.score.query import events_in
from tests.formats.test_text_habits import read

TEACHER = {
    "eight equal notes are eight eighths, whatever course they are on": (
        "time: 4/4",
        "E|----------------0---2---4---5-|\nA|0---2---4---5-----------------|",
        "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2",
    ),
    "four chops lie on the beats, with a dash before and behind": (
        "time: 4/4",
        "E|-3---3---3---3-|\nA|-2---2---2---2-|",
        "1 1 1 1",
    ),
    "twelve equal notes in four quarters are triplets": (
        "time: 4/4",
        "E|-0--2--3--5--3--2--0--2--3--5--3--2|",
        "1/3 1/3 1/3 1/3 1/3 1/3 1/3 1/3 1/3 1/3 1/3 1/3",
    ),
    "a wider measure of as many notes is no other rhythm, and the first no pickup": (
        "time: 4/4",
        "E|0-2-3-5-3-2-0-2-|0--2--3--5--3--2--0--2--|",
        "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 | 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2",
    ),
    "three equal notes in every measure are a waltz": (
        "",
        "E|0---2---3---|5---3---2---|0-2-3-2-0-2-|3-----------|",
        "1 1 1 | 1 1 1 | 1/2 1/2 1/2 1/2 1/2 1/2 | 3",
    ),
    "a hammer-on takes no room of what follows": (
        "time: 4/4",
        "E|0---2---h4---5---|0---3---2---0---|",
        "1 1 1 1 | 1 1 1 1",
    ),
    "a slur written tight halves its beat": (
        "time: 4/4",
        "E|0---2h4---5---7---|",
        "1 1/2 1/2 1 1",
    ),
    "frets of two digits take no room of what follows": (
        "time: 4/4",
        "E|-10-12-9-7-5-7-10-12-|-9-7-5-7-9-10-12-10-|",
        "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 | 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2",
    ),
    "sixteen equal notes without a bar line are two measures of eighths": (
        "time: 4/4",
        "E 0-2-3-5-3-2-0-2-3-5-7-5-3-2-0-2-",
        "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 | 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2",
    ),
    "a last note without its room still ends with the measure": (
        "time: 4/4",
        "E|-0---2-3-5--|",
        "1 1/2 1/2 2",
    ),
    "a pickup is as long as its notes": (
        "time: 4/4",
        "E|-0-2-|-3---5---7---5---|-3---2---0---2---|",
        "1/2 1/2 | 1 1 1 1 | 1 1 1 1",
    ),
    "a wide gap at the beginning is a rest": (
        "time: 4/4",
        "E|---------0---2---|-0---2---3---5---|",
        "1 1 | 1 1 1 1",
    ),
}
"""By rule: head, the upper courses, the lengths of the notes by measure, ties counted, in quarters."""


def lengths(score):
    """Lengths of the notes of each measure in quarters, ties counted, rests left out."""
    found = [[] for _ in score.measures]
    for place, event in events_in(score, Span(Place(0), Place(len(score.measures)))):
        if any(not note.tied for note in event.notes):
            found[place.measure].append(event.length)
        elif event.notes:
            found[place.measure][-1] += event.length
    return found


def tab(courses, head=""):
    """A whole text from its upper courses; the others are dashes as the last one has, bar lines alike."""
    lines = courses.split("\n")
    empty = "".join(sign if sign in "| " else "-" for sign in lines[-1][1:])
    lines += [f"{name}{empty}" for name in "EADG"[len(lines) :]]
    return "\n".join([head, "", *lines, ""])


@pytest.mark.parametrize("rule", TEACHER)
def test_what_a_teacher_reads(rule):
    head, courses, wanted = TEACHER[rule]
    reading = read(tab(courses, head))
    found = [[str(length) for length in measure] for measure in lengths(reading.music)]
    assert found == [part.split() for part in wanted.split("|")]


def equal_layouts():
    """405 measures of equally spaced notes: (head, the notes in the measure, the text)."""
    for head, counts in (("time: 4/4", (4, 6, 8, 12, 16)), ("time: 3/4", (3, 6, 9, 12))):
        for count, apart, before, after in product(counts, (2, 3, 4), range(3), range(5)):
            notes = ("-" * (apart - 1)).join("02357"[number % 5] for number in range(count))
            yield head, count, tab(f"E|{'-' * before}{notes}{'-' * after}|", head)


def test_equal_distances_are_equal_values():
    layouts = list(equal_layouts())
    read_equal = sum(
        set(lengths(read(text).music)[0]) == {Fraction(4 if "4/4" in head else 3) / count}
        for head, count, text in layouts
    )
    print(f"{read_equal} of {len(layouts)} equal layouts are read as equal values")
    assert len(layouts) == 405
    assert read_equal >= 400
