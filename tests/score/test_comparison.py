"""An arrangement beside its original: every way of departing from it is told apart."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.harmony.differences import difference_words, transposition_words
from tabterm.instrument import PRESETS, pitch_name
from tabterm.performance import perform
from tabterm.score import operations as do
from tabterm.score.comparison import Differs, differences, source_score, transposition
from tabterm.score.duration import EIGHTH, QUARTER, Duration
from tabterm.score.metre import Metre
from tabterm.score.model import Note
from tabterm.score.place import Place, Span
from tabterm.score.query import move_by
from tabterm.score.source import SourceEvent
from tests.build import duration, music, score
from tests.foreign import arranged, played

TUNE = "D4/4 E4/4 F#4/4 G4/4 | A4/4 B4/4 (B4/4 r/4 | D5/2 G4+B4/2"


@pytest.fixture
def tune():
    return arranged(TUNE)


def found(score):
    return [
        (
            each.place.measure + 1,
            str(each.place.offset),
            each.kind,
            each.written and pitch_name(each.written),
            each.played and pitch_name(each.played),
        )
        for each in differences(score)
    ]


def test_nothing_departs_at_first(tune):
    assert differences(tune) == ()
    assert transposition_words(tune) == "played at the pitch of the original"


def test_another_note(tune):
    changed = do.put_note(tune, Place(0, Fraction(1)), Note(course=3, fret=3), QUARTER)
    assert found(changed) == [(1, "1", Differs.CHANGED, "E4", "F4")]
    assert difference_words(changed, differences(changed)[0]) == "E4 in the original, F4 here: another note"


@pytest.mark.parametrize(
    ("note", "kind", "words"),
    [
        (Note(course=1, fret=0), Differs.HIGHER, "E4 in the original, E5 here: an octave up"),
        (Note(course=1, fret=12), Differs.HIGHER, "E4 in the original, E6 here: 2 octaves up"),
    ],
)
def test_octaves_up(tune, note, kind, words):
    tune = do.remove_note(tune, Place(0, Fraction(1)), 3)
    changed = do.put_note(tune, Place(0, Fraction(1)), note, QUARTER)
    (difference,) = differences(changed)
    assert (difference.kind, difference_words(changed, difference)) == (kind, words)


def test_an_octave_down(tune):
    lower = do.put_note(do.erase(tune, _at(2, 0, 2)), Place(2), Note(course=3, fret=0), Duration.parse("2"))
    assert found(lower) == [(3, "0", Differs.LOWER, "D5", "D4")]


def test_words_of_an_arrangement_in_another_octave_and_key():
    """Each says where the note went itself, and then where the rest did."""
    tune = arranged("A3/4 B3/4 E4/4 G4/4 | B3/4 G3/4 A3/4 E4/4")
    high = do.transpose(do.transpose(tune, _at(0, 0, 8), 12), _at(1, 0, 1), -12)
    (lower,) = differences(high)
    assert difference_words(high, lower) == "B3 in the original, B3 here: as written, the rest an octave up"
    assert transposition_words(high) == "played an octave higher than the original"
    key = do.transpose(do.transpose(arranged("D4/4 B3/4 E4/4 G4/4"), _at(0, 0, 4), 19), _at(0, 0, 1), -12)
    (fifth,) = differences(key)
    assert difference_words(key, fifth) == (
        "D4 in the original, A4 here: a fifth up, the rest an octave and a fifth up"
    )
    other = do.put_note(do.erase(high, _at(0, 0, 1)), Place(0), Note(course=1, fret=1), QUARTER)
    assert difference_words(other, differences(other)[0]) == (
        "A3 in the original, which would be A4, F5 here: another note"
    )


def test_left_out_and_added(tune):
    silent = do.erase(tune, _at(0, 2, 1))
    assert found(silent) == [(1, "2", Differs.DROPPED, "F#4", None)]
    added = do.write(tune, Place(1, Fraction(3)), EIGHTH, (Note(course=1, fret=0),))
    assert found(added) == [(2, "3", Differs.ADDED, None, "E5")]
    assert difference_words(added, differences(added)[0]) == "E5 is added"
    thinned = do.remove_note(tune, Place(2, Fraction(2)), 3)
    assert found(thinned) == [(3, "2", Differs.DROPPED, "G4", None)]


def test_another_rhythm_of_the_same_pitch_does_not_depart(tune):
    """A note that is struck twice, or two that are held as one, sound what the original sounds."""
    assert differences(do.split(tune, Place(0))) == ()


def test_a_passing_note_is_added(tune):
    passing = do.write(tune, Place(0, Fraction(1, 2)), EIGHTH, (Note(course=3, fret=1),))
    assert found(passing) == [(1, "1/2", Differs.ADDED, None, "D#4")]


def test_dead_notes_are_let_be(tune):
    value = True
    assert differences(do.set_muted(tune, Place(0), 3, value)) == ()


def test_what_most_notes_agree_on_is_no_departure(tune):
    """The whole a fifth higher; then one note of it back as it was written."""
    whole = do.transpose(tune, _at(0, 0, 12), 7)
    assert transposition(whole) == 7
    assert differences(whole) == ()
    assert transposition_words(whole) == "played a fifth higher than the original"
    one = do.put_note(do.erase(whole, _at(0, 0, 1)), Place(0), Note(course=3, fret=0), QUARTER)
    assert found(one) == [(1, "0", Differs.CHANGED, "D4", "D4")]


def test_a_key_is_agreed_on_over_octaves(tune):
    """No interval has half of the notes, but all are a fifth up or octaves away from that: one key."""
    whole = do.transpose(do.transpose(tune, _at(0, 0, 12), 7), _at(1, 0, 4), -12)
    whole = do.transpose(whole, _at(2, 0, 4), 12)
    assert transposition(whole) == 7
    assert [each.kind for each in differences(whole)] == [Differs.LOWER] * 2 + [Differs.HIGHER] * 3


def test_measures_without_a_source_are_not_compared(tune):
    more = do.insert_measures(tune, 1)
    more = do.write(more, Place(1), QUARTER, (Note(course=1, fret=5),))
    assert differences(more) == ()
    assert differences(do.delete_measures(tune, 0, 0)) == ()


def test_the_source_follows_the_metre(tune):
    barred = do.set_metre(tune, 0, Metre.parse("3/4"))
    assert differences(barred) == ()


@pytest.mark.parametrize("length", [Fraction(1), Fraction(5, 2)])
def test_the_source_follows_the_pickup(length):
    """Rests before a pickup go and come; the original goes with the notes."""
    late = arranged("r/4 r/4 r/4 D4/4 | E4/4 F#4/4 G4/2")
    short = do.set_pickup(late, length)
    assert short.measures[0].length == length
    assert differences(short) == ()
    assert short.measures[0].source[-1].pitches == (62,)
    longer = do.set_pickup(short, None)
    assert differences(longer) == ()
    assert [event.pitches for event in longer.measures[0].source if event.pitches] == [(62,)]


def _at(measure, beat, length):
    start = Place(measure, Fraction(beat))
    return Span(start, move_by(arranged(TUNE), start, Fraction(length)))


def test_a_pitch_that_the_original_holds_is_not_missed_and_one_struck_anew_is():
    held = SourceEvent.of(duration("2"), (76, 69), {69})
    source = (SourceEvent(duration=duration("2"), pitches=(69,)), held)
    for text in ("2 2.0, 2 1.0 (2.0", "2 2.0, 2 1.0"):
        plain = music(text)
        as_written = plain.with_(measures=(plain.measures[0].with_(source=source),))
        assert not differences(as_written)
    struck = as_written.measures[0].with_(source=(source[0], held.with_(held=())))
    assert [each.written for each in differences(as_written.with_(measures=(struck,)))] == [69]


def test_held_pitches_are_some_of_those_that_sound():
    for pitches, fields in (
        ((69,), {"held": (70,)}),
        ((69, 70), {"held": (69, 70)}),
        ((69, 70), {"held": (69,), "tied": True}),
    ):
        with pytest.raises(ScoreError, match="may be held"):
            SourceEvent(duration=duration("4"), pitches=pitches, **fields)


def test_what_fits_the_neck_is_played_on_it():
    tune = arranged("D4/4 hE4/4 G4+B4/2 | (G4+B4/2 r/2")
    original = source_score(tune)
    assert original.head.instrument == PRESETS["mandolin"]
    assert played(original).split(" | ")[0] == "D4/4 E4/4 B4+G4/2"
    assert all(note.tied for note in original.measures[1].events[0].notes)


def test_what_does_not_fit_sounds_as_written():
    assert played(source_score(arranged("E2/4 G2/4 C3+E3+G3+Bb3/2"))) == "E2/4 G2/4 A#3+G3+E3+C3/2"


@example([{94, 95, 96}])  # on no neck together, and above where 36 frets end
@settings(max_examples=50, deadline=None)
@given(st.lists(st.sets(st.integers(36, 96), min_size=1, max_size=3), min_size=1, max_size=8))
def test_every_pitch_is_heard(chords):
    """Anything from C2 to C7, up to three notes at once, at its own pitch."""
    words = ["+".join(pitch_name(pitch) for pitch in sorted(chord)) + "/8" for chord in chords]
    tune = arranged(" ".join([*words, *["r/8"] * (8 - len(words))]))
    messages = perform(source_score(tune)).messages
    on = sorted(m.data[1] for m in messages if m.data[0] & 0xF0 == 0x90 and m.data[2])
    assert on == sorted(pitch for chord in chords for pitch in chord)


def test_no_original_no_score():
    with pytest.raises(ScoreError, match="has no original line"):
        source_score(score("1 2.0"))
