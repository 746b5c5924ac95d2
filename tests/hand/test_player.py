"""The player: a hand of the score's own, that nobody forgets whose hands play, and that nobody is mistaken."""

from __future__ import annotations

import ast
from itertools import zip_longest
from pathlib import Path

from hypothesis import given

import tabterm
from tabterm.hand.curve import curve
from tabterm.hand.fingering import fingering
from tabterm.hand.player import Player
from tabterm.hand.review import findings
from tabterm.hand.strokes import with_proposals
from tabterm.hand.terms import TERMS, Weights
from tabterm.score.kinds import StrokeSchool
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, score
from tests.strategies import hands

TAUGHT = Weights.of({"roll": 2.0, "crowding": 0.5, "weak": 0.5})
SMALL = HandProfile(span_mm=120, weak=(2, 4), speeds=Speeds(repeated=4.9))
PLAYERS = (PLAYER, Player(weights=TAUGHT), Player(hand=SMALL), Player(hand=SMALL, weights=TAUGHT))
TUNE = score(
    "8 2.4,8 1.4,8 2.4,8 1.4,8 2.4,8 1.4,8 2.2,8 1.5",
    "4 2.9 3.4,8 1.8,8 1.12,8 2.2,8 2.7,8 2.5,8 h2.7",
    tempo=Tempo(150),
    school=StrokeSchool.COURSE_CHANGE,
)

WHOSE = {"player", "hand", "weights", "profile", "span_mm", "neck"}
"""Names of parameters that say whose hands it is about."""


@given(hands)
def test_a_hand_of_the_scores_own_stands_for_the_players(hand):
    player = Player(hand=SMALL, weights=TAUGHT, learns=False)
    assert player.at(score("1").head) is player
    assert player.at(score("1", hand=hand).head) == Player(hand=hand, weights=TAUGHT, learns=False)


def told(player):
    """What is found for a player, in plain data."""
    struck = with_proposals(TUNE, player)
    hand = fingering(struck, player)
    return (
        [event.proposed_stroke for measure in struck.measures for event in measure.events],
        [stop.finger for hold in hand.holds() for stop in hold.grip.notes],
        [(finding.code, finding.message) for finding in findings(struck, player)],
        dict(curve(struck, hand)),
    )


def test_what_is_remembered_of_one_player_is_not_told_of_another():
    """One score in turn by four players, whose answers all differ, and again by others that are equal to them."""
    first = [told(player) for player in PLAYERS]
    assert all(one != other for number, one in enumerate(first) for other in first[:number])
    for _ in range(2):
        assert [told(player) for player in PLAYERS] == first
    equal = [
        Player(hand=player.hand.with_(), weights=Weights.of(dict(player.weights.factors))) for player in PLAYERS
    ]
    assert [told(player) for player in reversed(equal)] == first[::-1]


def test_weights_are_equal_by_what_they_say():
    assert Weights.of({"shift": 0.5, "roll": 2.0, "hop": 1.0}) == Weights.of({"roll": 2.0, "shift": 0.5})
    assert Weights.of({"shift": 0.5}).points["shift"] == TERMS["shift"].weight / 2
    assert Weights.of({}) == Weights()


def test_no_function_has_a_player_of_its_own():
    """Whose hands it is about is said by every caller: no parameter for it has a default."""
    for path in Path(tabterm.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_bytes())):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
                places = [*node.args.posonlyargs, *node.args.args][::-1]
                pairs = [*zip_longest(places, node.args.defaults[::-1])]
                pairs += zip(node.args.kwonlyargs, node.args.kw_defaults, strict=True)
                assert not {each.arg for each, value in pairs if value is not None} & WHOSE, (path, node.lineno)
