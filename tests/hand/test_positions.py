"""Closed positions: the printed four-finger shapes, whole scales, nothing beyond the hand."""

from __future__ import annotations

import pytest

from tabterm.hand.bands import is_strained
from tabterm.hand.neck import neck_of
from tabterm.hand.player import Player
from tabterm.hand.positions import positions
from tabterm.harmony.pools import pool_named
from tabterm.instrument import PRESETS
from tabterm.score.model import Head
from tabterm.score.profile import HandProfile
from tests.build import PLAYER

NECK = neck_of(Head(), PLAYER)


def test_the_closed_shape_of_a_major_scale_has_a_finger_for_each_note():
    """Index on the root at fret 2, fingers 1 2 3 4 on each course (common practice, no source)."""
    first = positions(NECK, pool_named("A major"))[0]
    assert (first.first, first.last, first.degree) == (2, 7, "1")
    by_course = [[(fret, finger) for on, fret, finger in first.stops if on == course] for course in (4, 3, 2, 1)]
    assert by_course == [
        [(2, 1), (4, 2), (6, 3), (7, 4)],
        [(2, 1), (4, 2), (6, 3), (7, 4)],
        [(2, 1), (4, 2), (5, 3), (7, 4)],
        [(2, 1), (4, 2), (5, 3), (7, 4)],
    ]


@pytest.mark.parametrize("name", ["G major", "A minor pentatonic", "D mixolydian", "C", "E7", "B minor blues"])
def test_a_position_has_every_tone_between_its_ends_on_all_courses_within_reach(name):
    pool = pool_named(name)
    found = positions(NECK, pool)
    assert found
    for each in found:
        pitches = tuple(NECK.instrument.pitch(course, fret) for course, fret, _ in each.stops)
        assert pitches == pool.pitches(pitches[0], pitches[-1])
        assert {course for course, _, _ in each.stops} == {1, 2, 3, 4}
        assert each.first > 0
        assert not is_strained((1, 4), NECK.mm(each.last) - NECK.mm(each.first), NECK.hand.span_mm)


def test_a_small_hand_or_a_long_neck_has_fewer():
    pool = pool_named("G major")
    small = neck_of(Head(), Player(hand=HandProfile(span_mm=110)))
    assert len(positions(small, pool)) < len(positions(NECK, pool))
    assert not positions(neck_of(Head(instrument=PRESETS["tenor-banjo"]), PLAYER), pool)
