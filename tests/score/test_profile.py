"""Hand profiles: bounds, and how they are written with a score that carries one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.formats import native, text
from tabterm.judge import UnfitError
from tabterm.score.profile import HandProfile, Speeds
from tests.build import score
from tests.strategies import hands


@pytest.mark.parametrize(
    "fields",
    [
        {"span_mm": 59},
        {"span_mm": 221},
        {"span_mm": float("nan")},
        {"weak": (0,)},
        {"weak": (5,)},
        {"speeds": {"strokes": 0.9}},
        {"speeds": {"strokes": 25.1}},
        {"speeds": {"strokes": float("inf")}},
        {"speeds": {"trill": 5}},
    ],
)
def test_what_no_hand_is_is_refused(fields):
    with pytest.raises(UnfitError):
        HandProfile(**fields)


@given(st.lists(st.integers(1, 4), max_size=9))
def test_weak_fingers_are_in_order_each_once(fingers):
    weak = HandProfile(weak=fingers).weak
    assert list(weak) == sorted(set(fingers))


def test_the_rate_of_two_fingers_does_not_ask_for_their_order():
    speeds = Speeds(fingers_12=1.2, fingers_13=1.3, fingers_14=1.4, fingers_23=2.3, fingers_24=2.4, fingers_34=3.4)
    for low, high in ((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4)):
        assert speeds.fingers(low, high) == speeds.fingers(high, low) == float(f"{low}.{high}")


@given(hands)
def test_an_own_hand_is_written_whole(hand):
    own = score("1 1.2", hand=hand)
    assert native.read(native.write(own)) == own
    assert text.read(text.write(own)).music == own


def test_a_score_without_a_hand_is_written_without_one():
    plain = score("1 1.2")
    assert native.read(native.write(plain)).head.hand is None
    assert text.read(text.write(plain)).music.head.hand is None


def test_the_reference_hand_is_a_hand_like_any_other():
    """A score that carries it is played with it, whatever the player's own hand is."""
    own = score("1 1.2", hand=HandProfile())
    assert native.read(native.write(own)).head.hand == HandProfile()
    assert text.read(text.write(own)).music.head.hand == HandProfile()


def test_files_without_the_newer_fields_are_valid():
    old = native.write(score("1 1.2")).replace(b'"head": {', b'"head": {"hand":{"span_mm":150},')
    assert native.read(old).head.hand == HandProfile(span_mm=150)
    line = text.write(score("1 1.2", hand=HandProfile(span_mm=150)))
    assert b"\nhand: 150.0 mm\n" in line
