"""Alternatives: they really differ, cost more, say where and why, and stay inside what was asked about."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings

from tabterm.hand.alternatives import LEAST_NOTES, alternatives, choices
from tabterm.hand.fingering import fingering
from tabterm.hand.proposals import carried_out, with_hands
from tabterm.hand.terms import TERMS
from tabterm.score.place import Place, Span
from tests.build import PLAYER, score
from tests.hand.passages import passages
from tests.thorough import many

SCALE = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"


def stops(way):
    return [stop for hold in way.holds for stop in hold.grip.notes]


def test_three_that_really_differ():
    built = with_hands(score(SCALE, SCALE), PLAYER)
    ways = alternatives(built, PLAYER, Span.of_measures(0, 1))
    assert len(ways) == 3
    assert ways[0].extra == 0
    assert not ways[0].partings
    for way in ways[1:]:
        assert way.extra > 0
        assert way.term in TERMS
        assert TERMS[way.term].weight > 0
        assert way.reason == TERMS[way.term].words
        assert len(way.partings) >= LEAST_NOTES
        for parting in way.partings:
            assert parting.first != parting.other
    assert len({tuple(stops(way)) for way in ways}) == 3


@settings(max_examples=many(25, 60), deadline=None)
@given(passages(pins=False))
def test_each_is_what_it_says(built):
    """Carried out as the player's own, an alternative is fingered as it says, and costs what it says or less."""
    whole = Span.of_measures(0, 0)
    best = fingering(built, PLAYER, keep_courses=False).points
    pitch = built.head.instrument.pitch
    assume(best < TERMS["law"].weight)  # what cannot be done has no alternatives worth the name
    for way in alternatives(built, PLAYER, whole):
        chosen = carried_out(built, way.holds, chosen=True)
        again = fingering(chosen, PLAYER)
        assert sorted(stops(way)) == sorted(stop for hold in again.holds() for stop in hold.grip.notes)
        moved = sum(
            hold.grip.notes[i].course != note.course
            for hold in way.holds
            for i, note in enumerate(hold.onset.notes)
        )
        assert again.points <= best + way.extra + 1e-6 + TERMS["moved"].weight * moved
        old = [pitch(n.course, n.fret) for e in built.measures[0].events for n in e.notes]
        new = [pitch(n.course, n.fret) for e in chosen.measures[0].events for n in e.notes]
        assert sorted(old) == sorted(new)


def test_what_ends_a_note_that_rings_stays_on_its_course():
    built = score("8 1.1,8 2.0,8 1.0,8", metre="2/4")
    first = built.measures[0].events[0]
    rings = first.with_(notes=(first.notes[0].with_(ring=True),))
    built = built.with_(measures=(built.measures[0].with_(events=(rings, *built.measures[0].events[1:])),))
    for way in alternatives(built, PLAYER, Span.of_measures(0, 0)):
        assert [(stop.course, stop.fret) for stop in stops(way)][::2] == [(1, 1), (1, 0)]


def test_outside_the_selection_nothing_changes():
    built = with_hands(score(SCALE, SCALE, SCALE), PLAYER)
    first, *others = alternatives(built, PLAYER, Span.of_measures(1, 1))
    assert others
    for way in (first, *others):
        assert {hold.onset.place.measure for hold in way.holds} == {1}
        after = carried_out(built, way.holds, chosen=True)
        assert after.measures[0] == built.measures[0]
        assert after.measures[2] == built.measures[2]


def test_one_note_has_other_fingers():
    built = with_hands(score("1 2.3"), PLAYER)
    ways = alternatives(built, PLAYER, Span.of_measures(0, 0))
    assert len(ways) == 3
    assert len({stops(way)[0] for way in ways}) == 3


def test_a_silent_span_has_none():
    assert alternatives(score("1"), PLAYER, Span.of_measures(0, 0)) == ()


def test_courses_stay_when_told():
    built = with_hands(score(SCALE), PLAYER)
    for way in alternatives(built, PLAYER, Span.of_measures(0, 0), keep_courses=True):
        assert [stop.course for stop in stops(way)] == [3, 3, 3, 3, 2, 2, 2, 2]


def test_choices_for_a_note():
    built = with_hands(score(SCALE), PLAYER)
    ranked = choices(built, PLAYER, Place(0, built.measures[0].onsets[1]), 3)
    assert ranked[0].stop == (3, 2, 1)
    assert (ranked[0].extra, ranked[0].term) == (0.0, "")
    assert [each.extra for each in ranked] == sorted(each.extra for each in ranked)
    assert {each.stop.finger for each in ranked if each.stop.course == 3} == {1, 2, 3, 4}
    assert all(each.term for each in ranked[1:])
    assert choices(built, PLAYER, Place(0, built.measures[0].onsets[1]), 1) == ()
    with pytest.raises(IndexError):
        _ = choices(built, PLAYER, Place(9), 1)[0]
