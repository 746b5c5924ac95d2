"""Note values as text and as exact lengths."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tabterm.errors import ScoreError
from tabterm.score.duration import NOTE_VALUES, TUPLETS, Duration, Tuplet
from tabterm.values import TextValue


@pytest.mark.parametrize(
    ("word", "quarters"),
    [
        ("1", "4"),
        ("2", "2"),
        ("4", "1"),
        ("8", "1/2"),
        ("64", "1/16"),
        ("4.", "3/2"),
        ("2..", "7/2"),
        ("8(3:2)", "1/3"),
        ("16(5:4)", "1/5"),
        ("16(6:4)", "1/6"),
        ("16(7:4)", "1/7"),
        ("8(2:3)", "3/4"),
        ("4.(3:2)", "1"),
    ],
)
def test_text_and_length(word, quarters):
    duration = Duration.parse(word)
    assert duration.length == Fraction(quarters)
    assert str(duration) == word
    assert Duration.parse(word) is duration


@pytest.mark.parametrize(("former", "today"), [("16*3:2", "16(3:2)"), ("4..*7:4", "4..(7:4)")])
def test_the_form_of_version_1_is_read(former, today):
    assert str(Duration.parse(former)) == today


def test_a_whole_tuplet_fills_the_time_of_its_plain_values():
    for tuplet in TUPLETS:
        for value in NOTE_VALUES:
            plain = Duration(value)
            assert tuplet.actual * plain.in_tuplet(tuplet).length == tuplet.normal * plain.length


@pytest.mark.parametrize(
    "word",
    ["", "3", "4...", "8(", "8(0:2)", "8(3)", "512", "quarter", "4 .", "8(10000:2)", "8*0:2", "8*3", "8(3:2"],
)
def test_what_is_no_duration(word):
    with pytest.raises(ScoreError, match=r"^not a note value: .*16\(3:2\)"):
        Duration.parse(word)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((3,), "no note value 1/3"),
        ((4, 3), "with 3 dots"),
        ((256, 1), "too short to write"),
        ((8, 0, Tuplet(0, 2)), "not a tuplet: 0:2"),
        ((8, 0, Tuplet(3, 10000)), "not a tuplet: 3:10000"),
    ],
)
def test_durations_that_cannot_be(arguments, message):
    with pytest.raises(ScoreError, match=message):
        Duration(*arguments)


def test_other_dots_and_tuplets():
    eighth = Duration.parse("8")
    assert str(eighth.with_dots(1)) == "8."
    assert str(eighth.in_tuplet(Tuplet(3, 2)).with_dots(1)) == "8.(3:2)"
    assert eighth.in_tuplet(Tuplet(3, 2)).in_tuplet(None) == eighth
    assert isinstance(eighth, TextValue)
