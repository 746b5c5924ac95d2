"""Versions of a phrase: put aside, followed through changes, swapped, and never lost."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.hand.strokes import with_proposals
from tabterm.piece.practice import Heard
from tabterm.score import operations as do
from tabterm.score.change import Change
from tabterm.score.place import Place, Span
from tabterm.workspace.practice_file import kept_from
from tests.build import PLAYER, measure, score

TUNE = score("1 1.0", "1 1.1", "1 1.2", "1 1.3", "1 1.4")
CHANGED = do.replace_measures(TUNE, 2, 1, (measure("2 2.5,2 2.7"),))


def frets(takes):
    return [
        [note.fret for each in take.score.measures[take.span.start.measure : take.span.end.measure]
         for event in each.events for note in event.notes]
        for take in takes
    ]  # fmt: skip


def test_a_both_and_b():
    kept = kept_from(TUNE, 2, 2)
    span = Span.of_measures(1, 3)
    assert frets(kept.takes(CHANGED, span, Heard.SCORE)) == [[1, 5, 7, 3]]
    assert frets(kept.takes(CHANGED, span, Heard.ASIDE)) == [[1, 2, 3]]
    assert frets(kept.takes(CHANGED, span, Heard.IN_TURN)) == [[1, 5, 7, 3], [1, 2, 3]]
    elsewhere = Span.of_measures(3, 4)
    assert frets(kept.takes(CHANGED, elsewhere, Heard.IN_TURN)) == [[3, 4]]


def test_a_version_may_be_longer():
    kept = kept_from(TUNE, 1, 3)
    shorter = do.delete_measures(TUNE, 2, 3)
    kept = kept.after(Change.between(TUNE, shorter))
    assert kept.place == range(1, 2)
    assert frets(kept.takes(shorter, Span.of_measures(1, 1), Heard.IN_TURN)) == [[1], [1, 2, 3]]
    half = kept.takes(shorter, Span(Place(1), Place(1, Fraction(4))), Heard.ASIDE)[0].span
    assert half.end == Place(3, Fraction(4))


def test_the_other_is_the_last_one_that_differs_and_proposals_make_no_difference():
    kept = kept_from(TUNE, 2, 2)
    with pytest.raises(ScoreError, match="both versions are the same"):
        kept.other(with_proposals(TUNE, PLAYER))
    both = kept.keep(kept.standing(CHANGED))
    assert both.other(CHANGED) == TUNE.measures[2:3]
    assert both.other(TUNE) == CHANGED.measures[2:3]
    assert len(both.keep(CHANGED.measures[2:3]).kept) == 2


def test_swapping_is_a_change_and_nothing_is_lost_when_it_is_taken_back():
    kept = kept_from(TUNE, 2, 2)
    swapped = kept.taken(CHANGED)
    assert swapped == TUNE
    kept = kept.keep(kept.standing(CHANGED))
    assert kept.other(swapped) == CHANGED.measures[2:3]
    assert kept.other(CHANGED) == TUNE.measures[2:3]  # after undo


def test_a_tie_into_the_phrase_is_struck_where_it_has_nothing_to_come_from():
    tied = score("1 1.2", "1 (1.2", "1 1.0")
    kept = kept_from(tied, 1, 1)
    other = do.replace_measures(tied, 0, 2, (measure("1 1.5"), measure("1 1.7")))
    assert not kept.taken(other).measures[1].events[0].notes[0].tied


@given(first=st.integers(0, 6), removed=st.integers(0, 3), inserted=st.integers(0, 3))
def test_the_phrase_is_where_it_was_before_and_after(first, removed, inserted):
    change = Change(first=first, removed=TUNE.measures[:removed], inserted=TUNE.measures[:inserted])
    place = range(2, 4)
    moved = change.moved(place)
    if first + removed <= 2:
        assert moved == range(2 + inserted - removed, 4 + inserted - removed)
    if first >= 4:
        assert moved == place
    if first >= 2 and first + removed <= 4 and removed:
        assert moved == range(2, 4 + inserted - removed)


def test_a_phrase_taken_out_and_put_back_is_found_again():
    out = Change(first=2, removed=TUNE.measures[2:4])
    assert out.inverse.moved(out.moved(range(2, 4))) == range(2, 4)
