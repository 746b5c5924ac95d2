"""Turns, changes at a joint and what follows, in numbers alone."""

from __future__ import annotations

from array import array

import pytest

from tabterm.performance.model import Part, Pluck
from tabterm.sound.plan import Order, Plan
from tabterm.sound.sequencer import Sequencer
from tabterm.sound.voicing import SoundVoicing

THIRD_S = 1 / 3


def plan(number=1, *, lead_s=0.0, duration_s=1.0, turns=1, joints=(), follows=0):
    order = Order(number, lead_s, duration_s, turns, follows)
    plucks = (Pluck(Part.SOLO, 1, 60, lead_s, duration_s, 80),)
    return Plan(order, (), array("d"), b"", plucks, tuple(joints), SoundVoicing({}))


def stretches(sequencer):
    """(number, turn, begin, end, from) of everything from now on."""
    found = []
    while (now := sequencer.now) is not None and len(found) < 10:
        found.append((now.plan.order.number, now.turn, now.begin_s, now.end_s, now.from_s))
        sequencer.advance()
    return [tuple(pytest.approx(each) for each in one) for one in found]


def test_turns_after_the_first_begin_behind_the_count_in():
    sequencer = Sequencer(plan(lead_s=0.4, turns=3))
    assert stretches(sequencer) == [(1, 1, 0, 1, 0), (1, 2, 1, 1.6, 0.4), (1, 3, 1.6, 2.2, 0.4)]


def test_no_rounding_adds_up_over_an_hour_of_turns():
    sequencer = Sequencer(plan(duration_s=THIRD_S, turns=0))
    for _ in range(10_800):
        sequencer.advance()
    assert abs(sequencer.now.begin_s - 3600.0) < 1e-9


def test_a_change_takes_over_at_the_first_joint_that_is_not_over():
    sequencer = Sequencer(plan(turns=0))
    joints = [(0.0, 0.0), (0.25, 0.5), (0.5, 1.0), (1.0, 2.0)]
    assert sequencer.change(plan(2, duration_s=2.0, turns=2, joints=joints, follows=1), 0.3) == 1.0
    assert stretches(sequencer) == [(1, 1, 0, 0.5, 0), (2, 1, 0.5, 1.5, 1.0), (2, 2, 1.5, 3.5, 0)]


def test_a_change_at_the_end_begins_the_next_turn():
    sequencer = Sequencer(plan(turns=2))
    sequencer.change(plan(2, lead_s=0.5, duration_s=2.0, turns=2, joints=[(0.0, 0.5), (1.0, 2.0)], follows=1), 0.7)
    assert stretches(sequencer) == [(1, 1, 0, 1, 0), (2, 2, 1, 2.5, 0.5)]


def test_a_change_at_the_end_of_the_last_turn_ends_it():
    sequencer = Sequencer(plan())
    sequencer.change(plan(2, duration_s=2.0, joints=[(1.0, 2.0)], follows=1), 0.7)
    assert stretches(sequencer) == [(1, 1, 0, 1, 0)]


def test_a_second_change_takes_the_place_of_one_that_waits():
    sequencer = Sequencer(plan())
    sequencer.change(plan(2, joints=[(0.25, 0.25)], follows=1), 0.2)
    assert sequencer.change(plan(3, joints=[(0.5, 0.0)], follows=1), 0.2) == 0.0
    assert stretches(sequencer) == [(1, 1, 0, 0.5, 0), (3, 1, 0.5, 1.5, 0)]


def test_a_change_gives_up_what_was_to_follow_and_one_that_is_refused_does_not():
    sequencer = Sequencer(plan())
    sequencer.then(plan(5))
    assert sequencer.change(plan(3, joints=[(0.5, 0.5)], follows=2), 0.0) is None
    assert sequencer.change(plan(2, joints=[(0.5, 0.5)], follows=1), 0.0) == 0.5
    assert stretches(sequencer) == [(1, 1, 0, 0.5, 0), (2, 1, 0.5, 1, 0.5)]


def test_a_change_of_what_does_not_sound_is_refused():
    sequencer = Sequencer(plan())
    assert sequencer.change(plan(3, joints=[(0.5, 0.5)], follows=2), 0.0) is None
    assert stretches(sequencer) == [(1, 1, 0, 1, 0)]
    assert sequencer.change(plan(3, follows=1), 0.0) is None


def test_what_follows_begins_where_the_last_turn_ends_and_a_change_gives_it_up():
    sequencer = Sequencer(plan(turns=2))
    sequencer.then(plan(5))
    sequencer.change(plan(2, turns=2, joints=[(0.5, 0.75)], follows=1), 0.2)
    assert sequencer.change(plan(3, follows=9), 0.2) is None
    sequencer.then(plan(6, lead_s=0.2, turns=2))
    assert stretches(sequencer) == [
        (1, 1, 0, 0.5, 0),
        (2, 1, 0.5, 0.75, 0.75),
        (2, 2, 0.75, 1.75, 0),
        (6, 1, 1.75, 2.75, 0),
        (6, 2, 2.75, 3.55, 0.2),
    ]
