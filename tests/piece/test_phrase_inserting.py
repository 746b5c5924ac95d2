"""Phrases of the book put into a score: transposed, at the bar lines, under the hand; and nothing else changed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.formats import native
from tabterm.hand.review import findings
from tabterm.harmony.figures import figure_of
from tabterm.harmony.spelling import chord_in_force
from tabterm.instrument import preset
from tabterm.piece.phrase_book.entry import figure
from tabterm.piece.phrase_book.folder import starting_book
from tabterm.piece.phrase_book.inserting import inserted
from tabterm.score.key import Key
from tabterm.score.operations import set_chord, set_remark
from tabterm.score.place import Place, Span
from tests.build import PLAYER, music, text

EMPTY = {"4/4": "1", "3/4": "2.", "6/8": "2.", "2/4": "2"}


def of_book(name):
    return native.read((starting_book() / f"{name}.tabterm").read_bytes())


def empty(metre, key, count=6, **head):
    return music(" | ".join([EMPTY[metre]] * count), metre=metre, key=key, **head)


def over(piece, first, *symbols):
    for index, symbol in enumerate(symbols, first):
        piece = set_chord(piece, Place(index), symbol)
    return piece


STEMS = sorted(path.stem for path in starting_book().glob("*.tabterm"))


@given(st.sampled_from(STEMS), st.sampled_from(["G", "Bb", "E", "F#", "C"]))
@settings(max_examples=12, deadline=None)
def test_in_any_key_it_is_the_same_phrase_without_a_finding_that_it_had_not(stem, key):
    phrase = of_book(stem)
    piece = empty(str(phrase.head.metre), key, tempo=phrase.head.tempo)
    there = inserted(piece, Place(1), phrase, PLAYER)
    assert figure_of(there.score, there.span).identity == figure(phrase).identity
    assert all(each.severity.value != "impossible" for each in findings(there.score, PLAYER))
    assert len(there.score.measures) >= len(piece.measures)
    assert (there.semitones + phrase.head.key.tonic - Key.parse(key).tonic) % 12 == 0


def test_in_its_own_key_it_lies_as_it_was_kept():
    phrase = of_book("gate-bolt")
    there = inserted(empty("4/4", "G"), Place(2), phrase, PLAYER)
    assert text(there.score).split(" | ")[2:4] == text(phrase).split(" | ")
    assert there.span == Span(Place(2), Place(4))


def test_its_bar_line_is_the_one_at_the_cursor_or_the_next_and_its_pickup_stands_before():
    phrase = of_book("lift-the-latch")
    at_bar = inserted(empty("4/4", "G"), Place(2), phrase, PLAYER)
    inside = inserted(empty("4/4", "G"), Place(1, 1), phrase, PLAYER)
    assert at_bar == inside
    assert at_bar.span == Span(Place(1, Fraction(5, 2)), Place(3))
    with pytest.raises(ScoreError, match="no room for its pickup"):
        inserted(empty("4/4", "G"), Place(0), phrase, PLAYER)
    with_pickup = music("< 2 | 1 | 1", key="G")
    assert inserted(with_pickup, Place(0), phrase, PLAYER).span.start == Place(0, Fraction(1, 2))


def test_what_stands_around_and_the_chords_stay_and_a_bare_score_is_given_chords():
    piece = over(music("1 2.0 | 1 2.2 | 1 2.3 | 1 2.5", key="G"), 0, "G", "D", "G", "C")
    there = inserted(piece, Place(1), of_book("gate-bolt"), PLAYER).score
    assert there.measures[0] is piece.measures[0]
    assert there.measures[3] is piece.measures[3]
    assert [measure.chords for measure in there.measures] == [measure.chords for measure in piece.measures]
    bare = inserted(empty("4/4", "A"), Place(1), of_book("gate-bolt"), PLAYER).score
    assert [chord_in_force(bare, Place(index)) for index in range(3)] == [None, "E7", "A"]


def test_the_same_steps_of_chords_elsewhere_in_the_key_are_played_there():
    piece = over(empty("4/4", "C"), 1, "D7", "G")
    there = inserted(piece, Place(1), of_book("stone-step"), PLAYER)
    assert there.semitones in {-2, 10}
    assert there.score.keys[1] == Key.parse("C")


@pytest.mark.parametrize(
    ("around", "lowest", "highest"),
    [("4 3.0, 4 3.2, 4 3.4, 4 2.0", 0, 7), ("4 3.9, 4 3.11, 4 2.7, 4 2.9", 4, 14)],
)
def test_it_lies_where_the_hand_is(around, lowest, highest):
    piece = music(f"{around} | 1 | 1 | {around}", key="B", tempo="4=120")
    there = inserted(piece, Place(1), of_book("redoubt"), PLAYER).score
    frets = [note.fret for measure in there.measures[1:3] for event in measure.events for note in event.notes]
    assert lowest <= min(frets)
    assert max(frets) <= highest


def test_it_goes_to_an_instrument_whose_courses_lie_alike():
    phrase = of_book("stone-step")
    octave = empty("4/4", "A", instrument=preset("octave-mandolin"))
    there = inserted(octave, Place(1), phrase, PLAYER)
    assert figure_of(there.score, there.span).identity == figure(phrase).identity
    assert there.score.head.instrument == octave.head.instrument


def test_another_metre_is_refused():
    with pytest.raises(ScoreError, match="the phrase is in 6/8, the music here in 4/4"):
        inserted(empty("4/4", "G"), Place(1), of_book("market-day"), PLAYER)


def test_behind_the_last_measure_it_makes_room():
    there = inserted(empty("4/4", "G", 2), Place(1), of_book("gate-bolt"), PLAYER)
    assert len(there.score.measures) == 3


def test_a_remark_goes_with_the_notes_that_are_replaced():
    piece = music("1 2.0 | 4 2.2, 4 2.3, 2 2.2 | 1 2.0 | 1 2.2 | 1 2.0", key="G")
    for index, words in enumerate(("one", "two", "three", "four")):
        piece = set_remark(piece, index, words)
    there = inserted(piece, Place(1), of_book("gate-bolt"), PLAYER)
    assert there.span == Span(Place(1), Place(3))
    assert [each.remark for each in there.score.measures[:4]] == ["one", "", "", "four"]
