"""Strokes by the grid rule, against worked examples of published teachers."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.hand import strokes
from tabterm.hand.strokes import with_proposals
from tabterm.score.change import Change
from tabterm.score.kinds import Stroke, StrokeSchool
from tabterm.score.place import Place, Span
from tests.build import measure, score
from tests.strategies import operations, scores

LETTERS = {Stroke.DOWN: "D", Stroke.UP: "U", None: "."}
FRET = "1.2"


def proposed(events: str, metre: str = "4/4", school=StrokeSchool.BEAT) -> str:
    """Letters of the proposals; events as note values, `r` for rests, `h` for hammer-ons, `t` for ties."""
    words = []
    for number, word in enumerate(events.split()):
        value = word.rstrip("rht")
        note = {"r": "", "h": f" h1.{number + 3}", "t": " (1.2"}.get(word[len(value) :], " 1.2")
        words.append(value + note)
    built = with_proposals(score(", ".join(words).replace(", ", ","), metre=metre, school=school))
    return "".join(LETTERS[event.proposed_stroke] for event in built.measures[0].events)


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        # N. Gatherer, "Pick direction" 1: quarters all down; eighths in turn; a long note turns nothing.
        ("4 4 4 4", "DDDD"),
        ("8 8 8 8 8 8 8 8", "DUDUDUDU"),
        ("4 8 8 4 8 8", "DDUDDU"),
        # The same, "alternate each beat, not each note": a birthday song's dotted upbeat, then quarters.
        ("8 8 4 4 4", "DUDDD"),
        # N. Gatherer, "Pick direction" 5: a slurred note takes none and the hand goes on; off-beats are both up.
        ("8 8h 8 8 8 8h 8 8", "D.DUD.DU"),
        ("8 4 4 4 8", "DUUUU"),
        ("8 8 8h 8 2", "DU.UD"),
        # Sixteenths move the grid: the off-beat eighth comes down (teaching practice, no source).
        ("16 16 16 16 8 16 16 4 8 8", "DUDUDDUDDU"),
        ("8. 16 8. 16 2", "DUDUD"),
        ("8r 8 4r 8 8 8r 8", ".U.DU.U"),
        ("4 4t 4 4", "D.DD"),
    ],
)
def test_simple_metres(events, expected):
    assert proposed(events) == expected


@pytest.mark.parametrize(
    ("events", "metre", "by_beat", "alternating"),
    [
        # N. Gatherer, "Pick direction" 9: jigs down up down; a second school alternates.
        ("8 8 8 8 8 8", "6/8", "DUDDUD", "DUDUDU"),
        ("4 8 8 8 8", "6/8", "DDDUD", "DDUDU"),
        ("8 8 8 8 8 8 8 8 8", "9/8", "DUDDUDDUD", "DUDUDUDUD"),
        ("4. 4.", "6/8", "DD", "DU"),
        # Triplets in simple time: both schools (common practice, no source).
        ("8*3:2 8*3:2 8*3:2 8*3:2 8*3:2 8*3:2 2", "4/4", "DUDDUDD", "DUDUDUD"),
        ("8 8 8 8 8 8 8", "7/8", "DUDUDUD", "DUDUDUD"),
        ("8 8 8 8 8 8 8", "7/8(3+2+2)", "DUDDUDU", "DUDUDUD"),
        ("4 4 4 4", "C|", "DUDU", "DUDU"),
    ],
)
def test_both_schools(events, metre, by_beat, alternating):
    assert proposed(events, metre) == by_beat
    assert proposed(events, metre, StrokeSchool.ALTERNATE) == alternating


def test_a_pickup_is_counted_from_its_end():
    built = with_proposals(score(measure("8 1.2,8 1.2,8 1.2", short=True), "1 1.0"))
    assert [LETTERS[e.proposed_stroke] for e in built.measures[0].events] == ["U", "D", "U"]


def test_the_moving_hand_in_silence():
    built = score("4 1.2,8 1.2,8 h1.4,2 1.2")
    assert [(str(offset), stroke) for offset, stroke in strokes.silent_strokes(built, 0)] == [
        ("1/2", Stroke.UP), ("3/2", Stroke.UP), ("5/2", Stroke.UP), ("3", Stroke.DOWN), ("7/2", Stroke.UP),
    ]  # fmt: skip


def shown(built):
    return "".join(LETTERS[e.stroke_shown] for m in built.measures for e in m.events)


def test_the_commands_of_the_row():
    built = with_proposals(score("4 1.2,4 1.2,4 1.2,4 1.2", "4 1.2,4 1.2,4 1.2,4 1.2"))
    first = Span.of_measures(0, 0)
    assert shown(strokes.turn(built, Place(0))) == "UDDDDDDD"
    alternating = strokes.alternate_from(built, Place(0))
    assert shown(alternating) == "DUDUDDDD"
    assert shown(strokes.turn_all(alternating, first)) == "UDUDDDDD"
    assert shown(strokes.to_proposal(alternating, first)) == "DDDDDDDD"
    accepted = strokes.accept(built, first)
    assert [e.stroke for e in accepted.measures[0].events] == [Stroke.DOWN] * 4
    assert accepted.measures[1] is built.measures[1]
    with pytest.raises(ScoreError, match="nothing is struck"):
        strokes.turn(score("1"), Place(0))


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_proposals_hold_for_every_score(data):
    first = with_proposals(data.draw(scores(max_measures=3)))
    assert with_proposals(first) is first
    for measure_ in first.measures:
        for event in measure_.events:
            assert (event.proposed_stroke is not None) == event.takes_stroke
    changed = data.draw(operations(first))
    change = Change.between(first, changed)
    if change is not None:
        after = with_proposals(changed, change)
        assert after == with_proposals(changed)
        before = [event.stroke for m in changed.measures for event in m.events]
        assert [event.stroke for m in after.measures for event in m.events] == before
