"""The player: a hand of the score's own, that nobody forgets whose hands play, and that nobody is mistaken."""

from __future__ import annotations

import ast
from itertools import zip_longest
from pathlib import Path

import pytest
from hypothesis import given

import tabterm
from tabterm.hand.difficulty import curve
from tabterm.hand.fingering import fingering
from tabterm.hand.player import EVIDENCE, Player, bounds, frets_above, value_of
from tabterm.hand.review import findings
from tabterm.hand.strokes import with_proposals
from tabterm.hand.terms import TERMS, Weights
from tabterm.instrument import PRESETS
from tabterm.score.kinds import StrokeSchool
from tabterm.score.profile import REFERENCE_HAND, HandProfile, Speeds
from tabterm.score.tempo import Tempo
from tabterm.values import field_names
from tests.build import PLAYER, score
from tests.strategies import hands

TAUGHT = Weights.of({"across": 2.0, "little": -0.8})
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
        Player(hand=player.hand.with_(), weights=Weights.of(dict(player.weights.added))) for player in PLAYERS
    ]
    assert [told(player) for player in reversed(equal)] == first[::-1]


def test_weights_are_equal_by_what_they_say():
    assert Weights.of({"leave": 0.5, "little": 2.0, "open": 0.0}) == Weights.of({"little": 2.0, "leave": 0.5})
    assert Weights.of({"shift": 0.5}).points["shift"] == TERMS["shift"].weight + 0.5
    assert Weights.of({"shift": 0.5, "leave": 0.5}).habits == {"leave": 0.5}
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


def test_every_value_has_its_evidence():
    values = [name for name in field_names(HandProfile) if name != "speeds"]
    assert list(EVIDENCE) == [*values, *field_names(Speeds)]
    for evidence in EVIDENCE.values():
        assert "20" in evidence.source or "no source" in evidence.source


@pytest.mark.parametrize("name", [name for name in EVIDENCE if name != "weak"])
def test_the_bounds_are_those_of_the_model(name):
    for value in bounds(name):
        fields = {name: value} if name == "span_mm" else {"speeds": {name: value}}
        assert value_of(HandProfile(**fields), name) == value
    assert bounds(name)[0] < value_of(REFERENCE_HAND, name) < bounds(name)[1]


def test_the_defaults_keep_the_order_that_was_measured():
    """Aoki, Furuya and Kinoshita 2005: ring and little finger are slower than index and middle finger.

    Fujii et al. 2009: 5 to 7 Hz for one hand to and fro, so 10 to 14 strokes both ways and 5 to 7 one way.
    """
    speeds = Speeds()
    assert speeds.fingers_12 == max(speeds.fingers(low, high) for low in (1, 2, 3) for high in range(low + 1, 5))
    assert speeds.fingers_34 == min(speeds.fingers(low, high) for low in (1, 2, 3) for high in range(low + 1, 5))
    assert 10 <= speeds.strokes <= 14
    assert 5 <= speeds.repeated <= 7


# Worked out by hand from the fret distances of d(n) = S - S / 2^(n/12) and the limits 34.5, 64 and 79 mm
# (comfortable), 49, 73 and 118 mm (hard) of fingers 1-2, 1-3 and 1-4.
REACHES = [
    ("mandolin", 1, [(1, 2), (3, 4), (4, 7)]),
    ("mandolin", 2, [(2, 2), (3, 4), (5, 8)]),
    ("mandolin", 5, [(2, 3), (4, 5), (6, 10)]),
    ("mandolin", 7, [(2, 4), (5, 6), (7, 12)]),
    ("mandola", 7, [(2, 3), (4, 5), (5, 9)]),
    ("octave-mandolin", 2, [(1, 1), (2, 2), (2, 4)]),
    ("tenor-banjo", 2, [(1, 1), (2, 2), (2, 4)]),
    ("tenor-banjo", 7, [(1, 2), (3, 3), (3, 6)]),
]


@pytest.mark.parametrize(("word", "fret", "expected"), REACHES)
def test_frets_above_the_index_finger(word, fret, expected):
    span_mm = REFERENCE_HAND.span_mm
    assert [frets_above(PRESETS[word], span_mm, fret, finger) for finger in (2, 3, 4)] == expected


def test_a_reach_ends_with_the_neck():
    assert frets_above(PRESETS["mandolin"], 220, 19, 4) == (1, 1)
    assert frets_above(PRESETS["mandolin"], 220, 20, 4) == (0, 0)
