"""Plans: they travel whole, and bytes that are no plan are refused with one error."""

from __future__ import annotations

import math
import struct
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.errors import SoundError
from tabterm.performance import Options, perform
from tabterm.performance.model import Part, Pluck, Release
from tabterm.sound import packing
from tabterm.sound.plan import Plan
from tabterm.sound.voicing import voicing_of
from tests.build import score
from tests.strategies import scores

PERFORMANCE = perform(score("4 1.2.1,4 /1.4,4 2.0 3.0,4"), options=Options(count_in=1))
PLAN = Plan.of(
    PERFORMANCE, voicing_of(PERFORMANCE.instrument), number=7, turns=0, joints=[(0.5, 0.25), (1.0, 0.5)], follows=6
)


def unpacked(plan):
    body, values = packing.packed(plan)
    return packing.unpacked(body, **values)


def test_a_plan_is_unpacked_as_it_was_packed():
    again = unpacked(PLAN)
    assert again == PLAN
    messages = zip(again.times, map(again.message, range(len(again.times))), strict=True)
    assert list(messages) == [tuple(message) for message in PERFORMANCE.messages]
    assert again.plucks == PERFORMANCE.plucks
    assert any(pluck.curve for pluck in again.plucks)
    assert {pluck.release for pluck in again.plucks} == {Release.NONE, Release.DAMPS}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(scores())
def test_every_performance_makes_a_plan_that_is_taken(built):
    performance = perform(built)
    plan = Plan.of(performance, voicing_of(performance.instrument), number=1)
    assert unpacked(plan) == plan


@given(st.binary(max_size=400))
def test_bytes_that_are_no_plan_are_refused(body):
    with pytest.raises(SoundError, match="malformed"):
        packing.unpacked(body, **packing.packed(PLAN)[1])


@settings(max_examples=300)
@given(st.data())
def test_a_plan_with_a_changed_byte_is_refused_or_can_be_played(data):
    """Nothing else is raised, and what is taken keeps to its ranges."""
    body, values = packing.packed(PLAN)
    at = data.draw(st.integers(0, len(body) - 1))
    body = body[:at] + bytes([data.draw(st.integers(0, 255))]) + body[at + 1 :]
    with suppress(SoundError):
        plan = packing.unpacked(body, **values)
        assert list(plan.times) == sorted(plan.times)
        assert all(math.isfinite(each) for each in (*plan.times, plan.turn_s))
        assert max(plan.data[1::3]) < 0x80


@pytest.mark.parametrize("cut", [1, 8, 100, 500])
def test_a_plan_that_is_cut_off_or_too_long_is_refused(cut):
    body, values = packing.packed(PLAN)
    for wrong in (body[:-cut], body + bytes(cut)):
        with pytest.raises(SoundError, match="size"):
            packing.unpacked(wrong, **values)


PLUCK = Pluck(Part.SOLO, 1, 60, 0.1, 0.2, 80)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"plucks": (PLUCK._replace(start_s=math.nan),)}, "attacks are not in order"),
        ({"plucks": (PLUCK._replace(end_s=0.05),)}, "attacks are not in order"),
        ({"plucks": (PLUCK._replace(start_s=0.15), PLUCK)}, "attacks are not in order"),
        ({"plucks": (PLUCK._replace(end_s=math.inf),)}, "attacks are not in order"),
        ({"plucks": (PLUCK._replace(pitch=200),)}, "out of range"),
        ({"plucks": (PLUCK._replace(velocity=0),)}, "out of range"),
        ({"plucks": (PLUCK._replace(curve=((0.1, math.inf),)),)}, "a number in it is not finite"),
        ({"plucks": (PLUCK._replace(curve=((0.2, 0.0), (0.1, 0.0))),)}, "a curve in it is not in order"),
        ({"plucks": (PLUCK._replace(curve=((0.1, 1e5),)),)}, "a curve in it is out of range"),
        ({"joints": ((0.5, 99.0),)}, "a joint lies outside"),
        ({"joints": ((0.5, 0.0), (0.4, 0.0))}, "joints are not in order"),
        ({"setup": (b"\xf0\x01\x02",)}, "a message in it is invalid"),
        ({"setup": (b"\xb0\x01\x99",)}, "a message in it is invalid"),
        ({"setup": (b"\xb0\x01",)}, "a message in it is invalid"),
        ({"data": PLAN.data[:-1] + b"\xff"}, "a message in it is invalid"),
        ({"data": b"\xc0" + PLAN.data[1:]}, "a message in it is invalid"),
        ({"times": PLAN.times[::-1]}, "messages are not in order"),
    ],
)
def test_what_is_wrong_is_said(change, reason):
    with pytest.raises(SoundError, match=reason):
        unpacked(replace(PLAN, **change))


@pytest.mark.parametrize("field", [0, 4, 5, 6], ids=["part", "attack", "muted", "release"])
def test_an_attack_of_no_kind_is_refused(field):
    """Seven bytes, the count of the curve's points and the two times are what is packed of an attack."""
    body, values = packing.packed(PLAN)
    times_at = body.rindex(struct.pack("<dd", *PLAN.plucks[-1][3:5]))
    at = times_at - struct.calcsize("<7BI") + field
    with pytest.raises(SoundError, match="of an unknown kind"):
        packing.unpacked(body[:at] + bytes([99]) + body[at + 1 :], **values)


@pytest.mark.parametrize(
    "change",
    [
        {"lead_s": math.nan},
        {"duration_s": math.inf},
        {"duration_s": 1e9},
        {"lead_s": PLAN.order.duration_s},
        {"lead_s": -1.0},
        {"number": 0},
        {"number": True},
        {"turns": -1},
        {"turns": 1.5},
        {"follows": "1"},
        {"measures_lateness": 1},
    ],
)
def test_an_order_that_cannot_be_followed_is_refused(change):
    with pytest.raises(SoundError, match="malformed"):
        unpacked(replace(PLAN, order=replace(PLAN.order, **change)))


def test_values_that_do_not_belong_to_an_order_are_refused():
    body, values = packing.packed(PLAN)
    for wrong in ({}, values | {"lead_s": 0.0}, {"number": 1}):
        with pytest.raises(SoundError, match="malformed"):
            packing.unpacked(body, **wrong)


def test_a_huge_count_does_not_take_memory():
    head = struct.pack("<dd7I", 0.0, 1.0, *[2**32 - 1] * 7)
    with pytest.raises(SoundError, match="too long"):
        packing.unpacked(head, **packing.packed(PLAN)[1])
