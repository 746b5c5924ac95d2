"""The moving hand, whether or not it strikes."""

from __future__ import annotations

from hypothesis import given, settings

from tabterm.hand.movement import movement, silent_strokes
from tabterm.hand.schools import SCHOOLS
from tabterm.score.kinds import Stroke
from tests.build import score
from tests.strategies import scores


def test_the_moving_hand_in_silence():
    built = score("4 1.2,8 1.2,8 h1.4,2 1.2")
    assert [(str(offset), stroke) for offset, stroke in silent_strokes(built, 0)] == [
        ("1/2", Stroke.UP), ("3/2", Stroke.UP), ("5/2", Stroke.UP), ("3", Stroke.DOWN), ("7/2", Stroke.UP),
    ]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(scores())
def test_every_struck_note_has_a_slot_and_every_whole_beat_begins_with_a_down_stroke(built):
    for index, measure in enumerate(built.measures):
        slots = dict(movement(built, index))
        assert list(slots) == sorted(slots)
        assert {offset for offset, event in measure.timed() if event.takes_stroke} <= slots.keys()
        if SCHOOLS[built.schools[index]].restarts and not measure.short:
            assert all(slots[beat] is Stroke.DOWN for beat in built.metres[index].beats)
