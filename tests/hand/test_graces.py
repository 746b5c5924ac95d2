"""Strokes of grace notes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from tabterm.hand.graces import grace_strokes
from tabterm.hand.strokes import with_proposals
from tabterm.score.kinds import Reached, Stroke, StrokeSchool
from tabterm.score.model import Note
from tabterm.score.place import Place
from tests.build import PLAYER, event, measure, score
from tests.strategies import scores

D, U = Stroke.DOWN, Stroke.UP


def graced(note, *courses, school="beat", slurred=(), **fields):
    """(strokes of the grace notes, stroke of the note) on the second beat, behind a note on course 2."""
    graces = tuple(
        Note(course=course, fret=2, reached=Reached.HAMMER if number in slurred else Reached.STRUCK)
        for number, course in enumerate(courses)
    )
    events = (event("4 2.0"), event(f"4 {note}", grace=graces, **fields), event("2 2.0"))
    built = with_proposals(score(measure("1").with_(events=events), school=StrokeSchool(school)), PLAYER)
    return grace_strokes(built, Place(0, built.measures[0].onsets[1])), built.measures[0].events[1].stroke_shown


def test_struck_and_dropped_on_it_takes_the_stroke_of_the_place():
    """Bickford 1920 p. 66: the grace note is struck, then the finger drops without a new stroke."""
    assert graced("h2.4", 2) == ((D,), D)
    assert graced("h2.4", 2, stroke=U) == ((U,), U)
    assert graced("h2.4", 2, 2, slurred={1}) == ((D, None), D)
    assert graced("h2.4", 2, 2) == ((D, U), D)


@pytest.mark.parametrize("school", StrokeSchool)
def test_where_both_are_struck_the_last_goes_the_other_way(school):
    """Common practice, no source."""
    assert graced("2.4", 2, school=school) == ((U,), D)
    assert graced("2.4", 2, 2, school=school) == ((D, U), D)
    assert graced("2.4", 2, 2, school=school, slurred={1}) == ((U, None), D)
    assert graced("2.4", 2, school=school, stroke=U) == ((D,), U)
    assert graced("2.4", 2, school=school, stroke=Stroke.NONE) == ((U,), Stroke.NONE)


def test_schools_differ_on_other_courses():
    """One continued stroke over successive courses (Bickford 1920 p. 32); down on a new course (p. 44, rule 3)."""
    assert graced("2.4", 3) == ((U,), D)
    assert graced("2.4", 3, school="glide") == ((D,), D)
    assert graced("2.4", 4, 3, school="glide") == ((D, D), D)
    assert graced("2.4", 1, school="glide") == ((U,), D)
    assert graced("2.4", 3, school="course-change") == ((D,), D)
    assert graced("2.4", 1, school="course-change") == ((D,), D)


def test_nothing_struck_has_no_strokes():
    built = with_proposals(score("1", "1 1.0"), PLAYER)
    assert grace_strokes(built, Place(0)) == grace_strokes(built, Place(1)) == grace_strokes(built, Place(5)) == ()


@settings(max_examples=60, deadline=None)
@given(scores())
def test_each_struck_grace_note_has_one(built):
    built = with_proposals(built, PLAYER)
    for index, each in enumerate(built.measures):
        for offset, found in each.timed():
            strokes = grace_strokes(built, Place(index, offset))
            if found.takes_stroke:
                assert [stroke is not None for stroke in strokes] == [note.is_struck for note in found.grace]
