"""Remedies: each that is offered removes its finding and brings nothing worse."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from tabterm.hand.review import Severity, findings
from tabterm.hand.strokes import with_proposals
from tabterm.hand.trial import RANK, done, offered
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, event, score
from tests.hand.passages import passages
from tests.strategies import scores


def key(finding):
    return finding.code, finding.place, finding.course


def check(built):
    """Every remedy offered for every finding of a score keeps its promise; the first words of their labels."""
    kinds, built = set(), with_proposals(built, PLAYER)
    before = {key(finding): finding for finding in findings(built, PLAYER)}
    for finding in before.values():
        for remedy in offered(built, PLAYER, finding):
            after = {key(each): each for each in findings(done(built, PLAYER, remedy, finding.place), PLAYER)}
            assert key(finding) not in after, remedy.label
            for each in after.values():
                old = before.get(key(each))
                if old is None or RANK[each.severity] < RANK[old.severity]:
                    assert RANK[each.severity] >= RANK[finding.severity], (remedy.label, each)
            kinds.add(remedy.label.split(" ")[0])
    return kinds


def test_remedies_of_small_passages_help_and_are_of_many_kinds():
    """The same passages each time, so that what they are offered does not hang on luck."""
    kinds = set()

    @settings(max_examples=150, deadline=None, derandomize=True, database=None)
    @given(passages())
    def look(built):
        kinds.update(check(built))

    look()
    assert len(kinds) >= 5


@settings(max_examples=25, deadline=None)
@given(scores(max_measures=3))
def test_remedies_of_any_score_help(built):
    check(built)


def test_remedies_work_in_the_middle_of_a_long_score():
    """They are tried on the phrases around, with the same answer as on the whole."""
    plain = "4 3.0,4 3.2,4 3.4,4 3.5"
    built = score(*[plain] * 12, "4,4,4,4", plain, "2 1.5,2 h1.3", plain, "4,4,4,4", *[plain] * 12)
    (finding,) = [each for each in findings(built, PLAYER) if each.severity is Severity.IMPOSSIBLE]
    assert finding.place == Place(14, finding.place.offset)
    remedies = offered(built, PLAYER, finding)
    assert remedies[0].label == "make it a pull-off"
    after = remedies[0].operation(built, finding.place)
    assert findings(after, PLAYER) == ()
    assert after.measures[0] is built.measures[0]


@pytest.mark.parametrize("tempo", [220.0, 300.0])
def test_a_slower_tempo_is_offered_where_time_is_short(tempo):
    built = score("8 1.2,8 1.12,8 1.2,8 1.12,2", tempo=Tempo(tempo))
    ways = [remedy for finding in findings(built, PLAYER) for remedy in offered(built, PLAYER, finding)]
    slower = [remedy for remedy in ways if remedy.label.startswith("slower")]
    assert slower
    after = slower[0].operation(built, Place(0))
    assert after.head.tempo.per_minute < tempo


def test_the_lowest_note_of_a_double_stop_may_be_left_out():
    built = score(score("1").measures[0].with_(events=(event("1 1.1 2.14"),)))
    (finding,) = [each for each in findings(built, PLAYER) if each.code == "reach"]
    assert any(remedy.label.startswith("leave out the lowest note") for remedy in offered(built, PLAYER, finding))
