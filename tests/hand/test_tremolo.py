"""Tremolo on long notes."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.hand.strokes import with_proposals
from tabterm.performance import perform
from tabterm.score import operations as do
from tabterm.score.change import Change
from tabterm.score.kinds import Direction, Stroke, StrokeSchool
from tabterm.score.model import Note
from tabterm.score.place import Place, Span
from tests.build import PLAYER, event, measure, music, score
from tests.thorough import many


def proposed(*measures, school=StrokeSchool.TREMOLO, **head):
    built = with_proposals(score(*measures, school=school, **head), PLAYER)
    return [each.proposed_tremolo for m in built.measures for each in m.events]


def test_whole_and_half_notes_are_a_tremolo():
    """Bickford 1920 p. 42: whole and half notes always, shorter ones often."""
    assert proposed("2 2.2,4 2.3,4 2.5", "1 1.0") == [True, False, False, True]
    assert proposed("2. 2.2,4 2.3", "2,2 2.2 3.0") == [True, False, False, True]
    assert proposed("2 2.2,2 2.3", school=StrokeSchool.BEAT) == [False, False]


def test_tied_notes_are_one():
    """Bickford 1920 p. 42: a tremolo over a bar line has the combined length of the tied notes."""
    assert proposed("4 2.2,2. 2.3", "4 (2.3,2. 2.5") == [False, True, True, True]
    assert proposed("2. 2.2,4 2.3", "4 (2.3,4 2.3,4 2.5,4 2.5") == [True, True, True, False, False, False]
    assert proposed("2. 2.2,4 2.3", "8 (2.3,8 2.3,2. 2.5") == [True, False, False, False, True]


def test_a_long_note_dropped_on_from_a_grace_note_is_one():
    """Bickford 1920 p. 66: the tremolo starts on the grace note and goes on as the finger drops."""
    graced = event("1 h2.4", grace=(Note(course=2, fret=2),))
    assert proposed(measure("1").with_(events=(graced,))) == [True]
    assert proposed("2 2.2,2 h2.4") == [True, False]


@pytest.mark.parametrize(
    "fields", [{"stroke": Stroke.DOWN}, {"stroke": Stroke.NONE}, {"staccato": True}, {"tremolo": True}]
)
def test_the_player_is_never_overridden(fields):
    assert proposed(measure("1").with_(events=(event("1 1.0", **fields),))) == [False]


def test_what_cannot_be_one():
    rolled = event("1 1.0 2.2", roll=Direction.UP)
    dead = event("1").with_(notes=(Note(course=1, fret=0, muted=True),))
    assert proposed(measure("1").with_(events=(rolled,)), measure("1").with_(events=(dead,))) == [False, False]


def test_a_proposed_tremolo_is_heard_to_the_end_of_its_ties():
    plain = perform(with_proposals(score("1 1.0", "2 (1.0,2"), PLAYER))
    shaken = perform(with_proposals(score("1 1.0", "2 (1.0,2", school=StrokeSchool.TREMOLO), PLAYER))
    attacks = [each.time_s for each in shaken.messages if each.data[0] >> 4 == 9]
    assert len([each for each in plain.messages if each.data[0] >> 4 == 9]) == 1
    assert len(attacks) > 20
    six_quarters_s = 6 * 0.6  # at 100 quarters a minute
    assert six_quarters_s - 0.2 < max(attacks) < six_quarters_s


def tied(texts):
    """A score of measures in which a tie that has no note to start from is none."""
    pairs = zip(["1", *texts], texts, strict=False)
    return music(" | ".join(re.sub(r"^(\S+) \(", r"\1 ", text) if last == "1" else text for last, text in pairs))


MEASURES = ["1 2.3", "1 (2.3", "2 2.3, 2 (2.3", "2 (2.3, 2 2.3", "2. 2.3, 4 (2.3", "1"]


@settings(max_examples=many(40, 120), deadline=None)
@given(st.lists(st.sampled_from(MEASURES), min_size=3, max_size=6), st.data())
def test_after_a_change_to_any_of_many_tied_measures_as_from_scratch(texts, data):
    built = with_proposals(do.set_school(tied(texts), StrokeSchool.TREMOLO), PLAYER)
    index = data.draw(st.integers(0, len(texts) - 1))
    place = Place(index)
    changes = [
        lambda: do.delete_measures(built, index, index),
        lambda: do.insert_measures(built, index),
        lambda: do.erase(built, Span.of_measures(index, index)),
        lambda: do.toggle_tie(built, place),
        lambda: do.set_staccato(built, place, value=True),
        lambda: do.set_stroke(built, place, Stroke.UP),
    ]
    try:
        changed = data.draw(st.sampled_from(changes))()
    except ScoreError:
        return
    change = Change.between(built, changed)
    if change is not None:
        assert with_proposals(changed, PLAYER, change) == with_proposals(changed, PLAYER)
