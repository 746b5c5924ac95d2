"""What is done on the stroke row."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.hand.stroke_row import accept, alternate_from, to_proposal, turn, turn_all
from tabterm.hand.strokes import with_proposals
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.operations import set_stroke
from tabterm.score.place import Place, Span
from tests.build import PLAYER, score

LETTERS = {Stroke.DOWN: "D", Stroke.UP: "U", None: "."}


def shown(built):
    return "".join(LETTERS[e.stroke_shown] for m in built.measures for e in m.events)


def test_the_commands_of_the_row():
    built = with_proposals(score("4 1.2,4 1.2,4 1.2,4 1.2", "4 1.2,4 1.2,4 1.2,4 1.2"), PLAYER)
    first = Span.of_measures(0, 0)
    assert shown(turn(built, Place(0))) == "UDDDDDDD"
    alternating = alternate_from(built, Place(0))
    assert shown(alternating) == "DUDUDDDD"
    assert shown(turn_all(alternating, first)) == "UDUDDDDD"
    assert shown(to_proposal(alternating, first)) == "DDDDDDDD"
    accepted = accept(built, first)
    assert [e.stroke for e in accepted.measures[0].events] == [Stroke.DOWN] * 4
    assert accepted.measures[1] is built.measures[1]
    with pytest.raises(ScoreError, match="no picked note here"):
        turn(score("1"), Place(0))


def test_a_note_set_to_take_none_alternates_on_from_a_down_stroke():
    built = with_proposals(score("4 1.2,4 1.2,4 1.2,4 1.2"), PLAYER)
    silent = set_stroke(built, Place(0), Stroke.NONE)
    assert shown(alternate_from(silent, Place(0))) == "DUDU"


def test_accepting_a_tremolo_makes_it_the_players_own():
    """What is accepted stays when the school changes; a tied note goes on with the note before it."""
    built = with_proposals(score("2 1.2,2 1.3", "1 (1.3", school=StrokeSchool.TREMOLO), PLAYER)
    accepted = with_proposals(accept(built, Span.of_measures(0, 1)), PLAYER)
    plain = with_proposals(accepted.with_(head=accepted.head.with_(school=StrokeSchool.BEAT)), PLAYER)
    events = [event for measure in plain.measures for event in measure.events]
    assert [(event.tremolo, event.proposed_tremolo) for event in events] == [(True, False)] * 3
    assert [event.stroke for event in events] == [Stroke.DOWN, Stroke.DOWN, None]
    assert accept(plain, Span.of_measures(0, 1)) is plain
