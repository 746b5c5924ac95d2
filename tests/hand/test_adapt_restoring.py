"""The original put back, note by note or over a stretch, on courses that a hand likes."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.hand.adapt import adapt, restore
from tabterm.score import operations as do
from tabterm.score.comparison import differences
from tabterm.score.duration import Duration
from tabterm.score.model import Note
from tabterm.score.place import Place, Span
from tests.build import PLAYER
from tests.foreign import line, played

TUNE = (
    "E2/8 G2/8 A2/8 B2/8 D3/8 hE3/8 G3/8 A3/8 | B3/4 A3/8 pG3/8 E3/2 | "
    "D3+B3/2 (D3+B3/4 r/4 | G2/4 B2/4 (B2/4 A2/4 | (A2/2 E2/2"
)


@pytest.fixture(scope="module")
def tune():
    return adapt(line(TUNE), PLAYER).score


def everything(score):
    return Span(Place(0), Place(len(score.measures)))


def test_nothing_to_put_back(tune):
    assert restore(tune, PLAYER, everything(tune)) is tune


def test_one_note_comes_back_and_the_rest_stays(tune):
    changed = do.put_note(tune, Place(0, Fraction(1)), Note(course=2, fret=6), Duration.parse("8"))
    changed = do.write(changed, Place(1), Duration.parse("4"), (Note(course=1, fret=1),))
    back = restore(changed, PLAYER, Span(Place(0, Fraction(1)), Place(0, Fraction(3, 2))))
    assert played(back).split(" | ")[0] == played(tune).split(" | ")[0]
    assert back.measures[1:] == changed.measures[1:]
    events = zip(back.measures[0].events, tune.measures[0].events, strict=True)
    assert [(n.course, n.fret) for e, _ in events for n in e.notes] == [
        (n.course, n.fret) for e in tune.measures[0].events for n in e.notes
    ]


def test_a_note_tied_over_the_bar_comes_back_whole(tune):
    changed = do.write(tune, Place(3, Fraction(3)), Duration.parse("4"), (Note(course=1, fret=9),))
    back = restore(changed, PLAYER, Span(Place(3, Fraction(3)), Place(4)))
    assert differences(back) == ()
    assert back.measures[4].events[0].notes[0].tied


@settings(max_examples=20, deadline=None)
@given(st.data())
def test_whatever_was_changed_comes_back(tune, data):
    """Up to six notes written, taken out or put in: afterwards it sounds as the original does."""
    score = tune
    for _ in range(data.draw(st.integers(1, 6))):
        place = Place(data.draw(st.integers(0, 4)), Fraction(data.draw(st.integers(0, 7)), 2))
        note = Note(course=data.draw(st.integers(1, 4)), fret=data.draw(st.integers(0, 12)))
        how, length = data.draw(st.integers(0, 2)), Duration.parse(data.draw(st.sampled_from(["8", "4", "2"])))
        if how == 0:
            score = do.write(score, place, length, (note,))
        elif how == 1:
            score = do.erase(score, Span(place, Place(place.measure + 1)))
        else:
            score = do.put_note(score, place, note, length)
    score = score.with_(measures=score.measures[:5])
    assert differences(restore(score, PLAYER, everything(score))) == ()


def test_several_notes_in_one_rest_of_the_original_go(tune):
    changed = tune
    for offset in (Fraction(3), Fraction(7, 2)):
        changed = do.write(changed, Place(2, offset), Duration.parse("8"), (Note(course=1, fret=0),))
    assert len(differences(changed)) == 2
    assert differences(restore(changed, PLAYER, everything(changed))) == ()
    one = restore(changed, PLAYER, Span(Place(2, Fraction(3)), Place(2, Fraction(7, 2))))
    assert [each.place.offset for each in differences(one)] == [Fraction(7, 2)]


def test_what_the_neck_does_not_have_is_said():
    """A low phrase was moved up, since the range forced it: at its own octave it has no place."""
    high = "G4/8 B4/8 C5/8 E5/8 G5/8 B5/8 D6/8 r/8"
    fitted = adapt(line(f"{high} | {high} | {high} | B3/8 A3/8 G3/8 E3/8 G3/8 A3/8 B3/4"), PLAYER).score
    with pytest.raises(ScoreError, match="E3 is not on this neck"):
        restore(fitted, PLAYER, Span(Place(3, Fraction(3, 2)), Place(3, Fraction(2))))
    back = restore(fitted, PLAYER, Span(Place(3), Place(4)))
    assert [each.place.offset for each in differences(back)] == [Fraction(3, 2)]


def test_a_chord_that_no_hand_holds_is_said():
    fitted = adapt(line("C4+E4+G4+C5/2 D4/2"), PLAYER).score
    with pytest.raises(ScoreError, match="cannot be played with the others"):
        restore(fitted, PLAYER, everything(fitted))
