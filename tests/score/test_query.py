"""What sounds where, and what comes next."""

from __future__ import annotations

import pytest

from tabterm.score.place import Place, Span
from tabterm.score.query import (
    distance,
    end_of,
    event_at,
    event_before,
    events_in,
    move_by,
    next_event,
    previous_event,
    tied_on,
)
from tests.build import music, place

SCORE = music("< 4 2.3 | 2 2.5, 2 | 4 1.0, 2. 1.2 | 1 (1.2")


@pytest.mark.parametrize(
    ("at", "onset", "notes"),
    [
        (place(1), place(1), 1),
        (place(2, "3/2"), place(2), 1),
        (place(2, 3), place(2, 2), 0),
        (place(3, "1"), place(3, 1), 1),
    ],
)
def test_the_event_at_a_place(at, onset, notes):
    found, event = event_at(SCORE, at)
    assert (found, len(event.notes)) == (onset, notes)


@pytest.mark.parametrize("at", [place(5), place(1, 1), place(4, 4)])
def test_nothing_is_at_a_place_outside(at):
    assert event_at(SCORE, at) is None


@pytest.mark.parametrize(
    ("at", "before", "after"),
    [
        (place(1), None, place(2)),
        (place(2), place(1), place(2, 2)),
        (place(2, 1), place(2), place(2, 2)),
        (place(3, 1), place(3), place(4)),
        (place(4), place(3, 1), None),
        (place(5), place(4), None),
    ],
)
def test_neighbours(at, before, after):
    found = previous_event(SCORE, at)
    assert (found and found[0]) == before
    assert event_before(SCORE, at) is (found and found[1])
    found = next_event(SCORE, at)
    assert (found and found[0]) == after


def test_events_of_a_span_are_those_that_begin_in_it():
    assert [at for at, _ in events_in(SCORE, Span(place(2, 1), place(3, 1)))] == [place(2, 2), place(3)]
    assert len(list(events_in(SCORE, Span(place(1), place(9))))) == 6


@pytest.mark.parametrize(
    ("start", "length", "end"),
    [
        (place(1), 1, place(2)),
        (place(1), "1/2", place(1, "1/2")),
        (place(1, "1/2"), 5, place(3, "1/2")),
        (place(4), 4, place(5)),
        (place(4), 99, place(5)),
    ],
)
def test_moving_by_a_length_and_back_to_the_distance(start, length, end):
    length = place(1, length).offset
    assert move_by(SCORE, start, length) == end
    assert distance(SCORE, start, end) == min(length, distance(SCORE, start, end_of(SCORE)))
    assert end_of(SCORE) == Place(4)


def test_what_is_tied_on():
    score = music("1 1.0 2.3 | 2 (1.0 (2.3, 2 (2.3")
    assert [at for at, _, _ in tied_on(score, place(1), 2)] == [place(2), place(2, 2)]
    assert [at for at, _, _ in tied_on(score, place(1), 1)] == [place(2)]
    assert not list(tied_on(score, place(1), 3))
