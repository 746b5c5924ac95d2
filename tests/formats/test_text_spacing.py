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
    "two to one in every measure is a jig": (
        "",
        "E|0---3-0---3-|0---3-0-----|0-2-3-5---3-|",
        "1 1/2 1 1/2 | 1 1/2 3/2 | 1/2 1/2 1/2 1 1/2",
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
    assert read_equal == len(layouts) == 405


SIGNS = {
    "hyphen": "\u2010", "en dash": "\u2013", "em dash": "\u2014", "minus": "\u2212", "light line": "\u2500",
    "heavy line": "\u2501", "double line": "\u2550",
}  # fmt: skip
BARS = {
    "bar": "|",
    "light line": "\u2502",
    "heavy line": "\u2503",
    "double line": "\u2551",
    "broken bar": "\u00a6",
}


@pytest.mark.parametrize("dash", SIGNS)
@pytest.mark.parametrize("bar", BARS)
def test_lines_drawn_with_other_signs(dash, bar):
    plain = tab("E|0---2---|3---5---|\nA|2---2---|--------|", "Some \u2013 Words\n\ntime: 2/4")
    head, courses = plain.split("time: 2/4")
    drawn = courses.replace("-", SIGNS[dash]).replace("|", BARS[bar])
    reading = read(f"{head}time: 2/4{drawn}")
    assert reading.music == read(plain).music
    assert reading.music.head.title == "Some \u2013 Words"


VALUES = {
    "4   8 8 4   4": ("0---2-3-5---7---", "1 1/2 1/2 1 1"),
    "8 8 8 8 2": ("0-2-3-5-7-------", "1/2 1/2 1/2 1/2 2"),
    "4.    8 2": ("0-----2-3-------", "3/2 1/2 2"),
    "2   4 4": ("0---2-3-", "2 1 1"),
    "16  16  16  16  4  2": ("0---2---3---5---7--5-----", "1/4 1/4 1/4 1/4 1 2"),
    "4 4 4 4": ("0-2-3-5-", "1 1 1 1"),
    "8t 8t 8t 4  2": ("0--2--3--5--7--", "1/3 1/3 1/3 1 2"),
    "2 2": ("0-2-", "2 2"),
    "1 2 3 4": ("0-2-3-5-", "1 1 1 1"),
    "1   3": ("0---2---", "2 2"),
    "1 2   4": ("0-2---3-", "1 2 1"),
    "  2   4": ("--0---2-", "2 1"),
    "2   4   2   4": ("0---2---3---5---", "2 1"),
}
"""Rows of figures over a measure of 4/4: note values, or a count (common practice, no source)."""


@pytest.mark.parametrize("row", VALUES)
def test_a_row_of_figures_is_note_values_or_a_count(row):
    notes, wanted = VALUES[row]
    reading = read(tab(f"E|{notes}|", f"time: 4/4\n\n  {row}").replace(f"  {row}\n\n", f"  {row}\n"))
    assert [str(length) for length in lengths(reading.music)[0]] == wanted.split()


COUNTS = {
    ("2/2", "1 e & a 2 e & a", "0-2-3-5-7-5-3-2-"): "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2",
    ("C|", "1 e & a 2 e & a", "0---3-5-7-------"): "1 1/2 1/2 2",
    ("2/2", "1 & 2 & 3 & 4 &", "0-2-3-5-7-5-3-2-"): "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2",
    ("2/4", "1 e & a 2 e & a", "0-2-3-5-7-------"): "1/4 1/4 1/4 1/4 1",
    ("6/8", "1 2 3 4 5 6", "0---3-5---7-"): "1 1/2 1 1/2",
    ("6/8", "1 & a 2 & a", "0---3-5-3-2-"): "1 1/2 1/2 1/2 1/2",
    ("", "1 & 2 & 3 &", "0---3-5-3---"): "1 1/2 1/2 1",
}
"""Counts by metre ("": none declared) over a measure (common practice, no source)."""


@pytest.mark.parametrize("case", COUNTS, ids=" ".join)
def test_what_a_number_of_a_count_is_worth(case):
    metre, row, notes = case
    text = tab(f"E|{notes}|", f"time: {metre}\n" if metre else "").replace("\n\nE|", f"\n\n  {row}\nE|")
    assert [str(length) for length in lengths(read(text).music)[0]] == COUNTS[case].split()
