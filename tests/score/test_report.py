"""The report of readers, writers and fittings: gathered, counted, and shown alike in every shell."""

from __future__ import annotations

import pytest

from tabterm.score.place import Place
from tabterm.score.report import MOST_KINDS, NOTHING, Kind, Remark, Report, Reporter
from tests.build import music

TWO = music("1 2.0 | 4, 4, 4, 4")
READ = Report(
    (
        Remark(Kind.GUESSED, "the key is taken to be G"),
        Remark(Kind.LEFT_OUT, "trills are left out", 3, 1),
        Remark(Kind.CHANGED, "a tie is struck", 4, 7),
    )
)
FITTED = Report(
    (Remark(Kind.WHOLE, "in A, as asked"), Remark(Kind.MOVED, "E2 as E4", place=Place(1, 2))), "8 notes fitted"
)


def test_the_same_words_without_a_column_are_told_once_with_their_first_line():
    reporter = Reporter()
    for line in (5, 2, 9):
        reporter.left_out("trills are left out", line)
    reporter.guessed("the key is taken to be G")
    assert reporter.gathered().remarks == (
        Remark(Kind.GUESSED, "the key is taken to be G"),
        Remark(Kind.LEFT_OUT, "trills are left out (3 times)", 5, 1),
    )


def test_each_place_with_a_column_is_told_up_to_a_limit():
    reporter = Reporter(most_places=2)
    for column in (9, 4, 1):
        reporter.changed("a tie is struck", 3, column)
    found = reporter.gathered().remarks
    assert [(each.line, each.column) for each in found] == [(3, 4), (3, 9), (0, 0)]
    assert found[-1].message == "and 1 more places that could not be read"


def test_many_kinds_are_counted_together():
    reporter = Reporter()
    for number in range(MOST_KINDS + 5):
        reporter.changed(f"kind {number}", 1)
    messages = [each.message for each in reporter.gathered().remarks]
    assert len(messages) == MOST_KINDS + 1
    assert messages[-1] == "other things are left out (5 times)"


@pytest.mark.parametrize(
    ("file", "details", "most", "lines"),
    [
        (
            "a.abc",
            True,
            None,
            [
                "a.abc: the key is taken to be G",
                "a.abc:3:1: trills are left out",
                "a.abc:4:7: a tie is struck",
                "a.abc: 8 notes fitted",
                "a.abc: in A, as asked",
                "a.abc: measure 2, beat 3: E2 as E4",
            ],
        ),
        (None, False, 2, ["the key is taken to be G", "line 3: trills are left out", "8 notes fitted"]),
    ],
)
def test_lines_of_a_reading_and_a_fitting(file, details, most, lines):
    assert (READ + FITTED).lines(TWO, file, details=details, most=most) == lines


def test_a_report_of_some_kinds_keeps_its_sentence():
    assert FITTED.only(Kind.WHOLE).lines(TWO) == ["8 notes fitted", "in A, as asked"]
    assert (READ + NOTHING).lines(TWO) == READ.lines(TWO)
