"""The graph of the practice log: what stands where, at any size."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.piece.practice_graph import ASCII_BLOCKS, graph, in_words, page, passages, words
from tabterm.piece.practice_log import LogEntry

BEGUN = datetime(2026, 5, 1, 18, 30, tzinfo=UTC)
ENTRY = LogEntry(BEGUN, "Kiln Lane", "/kiln.tabterm", 5, 8, "5-8", 60.0, "4", 60.0, 4, 120.0)


def done(day, tempo, name="5-8"):
    return replace(
        ENTRY, begun=BEGUN + timedelta(days=day), per_minute=float(tempo), percent=float(tempo), passage=name
    )


def test_passages_are_gathered_by_day_the_last_one_first():
    found = passages([done(0, 60), done(0, 64), done(2, 70), done(1, 50, "1")])
    assert [each.name for each in found] == ["5-8", "1"]
    assert [(day.day.day, day.per_minute, day.turns, day.seconds) for day in found[0].days] == [
        (1, 64.0, 8, 240.0),
        (3, 70.0, 4, 120.0),
    ]
    assert str(found[0]) == "measures 5-8: 70 of 100 a minute, 2 days, 6 min"
    assert str(found[1]) == "measure 1: 50 of 100 a minute, 1 day, 2 min"
    assert words(found[0])[1] == "2026-05-03: 70 a minute, 4 turns, 2 min"


def test_days_of_a_traveller_stand_in_order():
    """Over the date line the next day begins before the one before has."""
    early = replace(done(0, 70), begun=datetime(2026, 5, 2, 0, 30, tzinfo=timezone(timedelta(hours=12))))
    late = [replace(done(0, 60), begun=datetime(2026, 5, day, 14, tzinfo=UTC)) for day in (1, 2)]
    (found,) = passages([early, *late])
    assert [(day.day.day, day.turns) for day in found.days] == [(1, 4), (2, 8)]
    assert graph(found, 40, 6)[-1].split() == ["2026-05-01", "2026-05-02"]


def test_the_graph_of_three_days():
    found = passages([done(0, 60), done(1, 80), done(3, 100)])[0]
    assert graph(found, 40, 6, ASCII_BLOCKS) == [
        "100|...............####.",
        "   |               ####",
        "   |     ####      ####",
        "   |     ####      ####",
        " 55|#### ####      ####",
        "    2026-05-01 2026-05-04",
    ]


def test_a_day_is_as_high_as_its_tempo():
    found = passages([done(day, 60 + 4 * day) for day in range(10)])[0]
    lines = graph(found, 60, 11)[:-1]
    heights = [sum(line[4 + 5 * day : 5 + 5 * day] not in {"", " ", "."} for line in lines) for day in range(10)]
    assert heights == sorted(heights)
    assert heights[0] < heights[-1] <= 10


@given(
    days=st.lists(st.tuples(st.integers(0, 900), st.integers(20, 300)), min_size=1, max_size=30),
    width=st.integers(12, 120),
    height=st.integers(5, 40),
)
def test_it_fits_any_screen(days, width, height):
    found = passages([done(*each) for each in days])
    lines = page("Kiln Lane", found, 0, width, height)
    assert len(lines) <= height
    assert max(map(len, lines)) <= max(width, len("    2026-05-01"))


@pytest.mark.parametrize(("seconds", "said"), [(12, "12 s"), (95, "2 min"), (3900, "1 h 05 min")])
def test_a_length_of_time_in_words(seconds, said):
    assert in_words(seconds) == said


def test_nothing_practised_yet_says_how_to_begin():
    lines = page("Kiln Lane", (), 0, 38, 20)
    assert lines[0] == "Kiln Lane"
    assert "a loop of 10 seconds" in " ".join(lines)
    assert max(map(len, lines)) <= 38
