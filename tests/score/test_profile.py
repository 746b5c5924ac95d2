"""Hand profiles: bounds, and how a player's own is lent to a score that carries none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from tabterm.formats import native, text
from tabterm.score.change import Change
from tabterm.score.profile import REFERENCE_HAND, HandProfile, LentProfile, Speeds, is_lent, lend
from tests.build import score
from tests.strategies import hands

MINE = HandProfile(span_mm=151, weak=(4,), speeds=Speeds(strokes=9.2, fingers_24=5.5))
OTHER = HandProfile(span_mm=120)


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
    with pytest.raises(ValidationError):
        HandProfile(**fields)


@given(st.lists(st.integers(1, 4), max_size=9))
def test_weak_fingers_are_in_order_each_once(fingers):
    weak = HandProfile(weak=fingers).weak
    assert list(weak) == sorted(set(fingers))


def test_the_rate_of_two_fingers_does_not_ask_for_their_order():
    speeds = Speeds(fingers_12=1.2, fingers_13=1.3, fingers_14=1.4, fingers_23=2.3, fingers_24=2.4, fingers_34=3.4)
    for low, high in ((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4)):
        assert speeds.fingers(low, high) == speeds.fingers(high, low) == float(f"{low}.{high}")


def test_a_score_without_a_hand_is_lent_the_players():
    plain = score("1 1.2")
    lent = lend(plain, MINE)
    assert is_lent(lent.head.hand)
    assert (lent.head.hand.span_mm, lent.head.hand.weak, lent.head.hand.speeds) == (151, (4,), MINE.speeds)
    assert lent.measures[0] is plain.measures[0]
    assert lend(lent, OTHER) is lent


def test_a_score_keeps_its_own_hand():
    own = score("1 1.2", hand=OTHER)
    assert lend(own, MINE) is own
    plain = score("1 1.2")
    assert lend(plain, REFERENCE_HAND) is plain


@given(hands)
def test_what_is_lent_is_never_written(hand):
    plain = score("1 1.2")
    lent = lend(plain, hand)
    assert native.write(lent) == native.write(plain)
    assert text.write(lent) == text.write(plain)
    assert native.read(native.write(lent)) == plain


@given(hands)
def test_an_own_hand_is_written_whole(hand):
    own = score("1 1.2", hand=hand)
    assert native.read(native.write(own)) == own
    assert text.read(text.write(own)).score == own


def test_a_change_says_nothing_of_what_is_lent():
    lent = lend(score("1 1.2"), MINE)
    titled = lent.with_(head=lent.head.with_(title="Kiln Lane"))
    change = Change.between(lent, titled)
    assert "151" not in change.model_dump_json(exclude_defaults=True)


def test_a_lent_hand_becomes_the_scores_own_when_it_is_changed():
    own = LentProfile.of(MINE).own(span_mm=140)
    assert not is_lent(own)
    assert own == MINE.with_(span_mm=140)


def test_files_without_the_newer_fields_are_valid():
    old = native.write(score("1 1.2")).replace(b'"head": {', b'"head": {"hand":{"span_mm":150},')
    assert native.read(old).head.hand == HandProfile(span_mm=150)
    line = text.write(score("1 1.2", hand=HandProfile(span_mm=150)))
    assert b"\nhand: 150.0 mm\n" in line
