"""What is remembered from one score to the next never shows: phrases are those of a fresh walk."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm.hand.onsets import phrases, walk
from tabterm.memory import forget
from tabterm.score.duration import QUARTER
from tabterm.score.model import Note
from tabterm.score.operations import insert_measures, put_note
from tabterm.score.operations.draft import change_measure
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tests.build import event, measure, score
from tests.strategies import operations, scores

LINE = ["4 1.2,4 1.3,2", "2 2.2,2 2.3", "4 3.2,4 3.4,2", "4,4 1.2,2 1.5", "2 2.2,2", "1 1.3"]


@pytest.fixture(autouse=True)
def _nothing_remembered():
    """Of the scores of other tests no phrase is left to be carried on."""
    forget()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(scores(), st.data())
def test_after_any_edits_the_phrases_are_those_of_a_fresh_walk(built, data):
    for _ in range(4):
        assert phrases(built) == tuple(phrase for _, phrase in walk(built))
        built = data.draw(operations(built))


def test_only_the_phrase_that_is_edited_is_another():
    built = score(*LINE * 10)
    before = phrases(built)
    after = phrases(put_note(built, Place(26), Note(course=3, fret=5), QUARTER))
    assert [number for number, each in enumerate(after) if each is not before[number]] == [13]
    assert phrases(built) == before


def test_measures_put_in_leave_what_is_before_them():
    built = score(*LINE * 10)
    before = phrases(built)
    after = phrases(insert_measures(built, 30, 1))
    assert all(one is other for one, other in zip(before[:14], after[:14], strict=True))
    assert {onset.place.measure for phrase in after for onset in phrase} == {*range(61)} - {30}


def test_a_tempo_reaches_on_to_the_next():
    built = change_measure(score(*LINE * 4), 18, tempo=Tempo(100.0))
    before = phrases(built)
    slower = change_measure(built, 6, tempo=Tempo(60.0))
    assert phrases(slower) == tuple(phrase for _, phrase in walk(slower))
    assert phrases(slower)[-1] is before[-1]
    assert phrases(slower)[5] != before[5]


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_grace_notes_take_their_time_from_what_is_before_them(count):
    """From one note to the next is a second, however many grace notes come in it."""
    graced = event("4 1.5", grace=(Note(course=1, fret=3),) * count)
    (phrase,) = phrases(score(measure("2").with_(events=(event("4 1.2"), graced)), metre="2/4", tempo=Tempo(60.0)))
    gaps_s = [onset.gap_s for onset in phrase[1:]]
    assert len(gaps_s) == count + 1
    assert sum(gaps_s) == pytest.approx(1.0)
    assert gaps_s == sorted(gaps_s, reverse=True)


def test_pieces_that_something_is_tried_on_do_not_drive_the_score_out():
    built = score(*LINE * 10)
    before = phrases(built)
    for fret in range(8):
        assert phrases(built) is before
        phrases(score(LINE[0], f"1 1.{fret}"))
    assert phrases(put_note(built, Place(0), Note(course=1, fret=3), QUARTER))[-1] is before[-1]
