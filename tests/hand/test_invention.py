"""New phrases: each candidate is playable, whole, of its notes, and does what its way says."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tabterm
from tabterm.errors import ScoreError
from tabterm.hand.difficulty import curve
from tabterm.hand.fingering import fingering
from tabterm.hand.invention import APART, LEAST_APART, Wanted, invented
from tabterm.hand.proposals import with_hands
from tabterm.hand.review import findings
from tabterm.harmony.from_pool import Demand
from tabterm.harmony.inventing import Way
from tabterm.harmony.melody import sounds
from tabterm.harmony.phrases import contour
from tabterm.harmony.pools import pool_named
from tabterm.harmony.rhythm_names import usual_rhythms
from tabterm.harmony.spelling import harmony_in_force
from tabterm.score.duration import Duration
from tabterm.score.key import Key, mode_tones
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Event, Head, Note, Score
from tabterm.score.operations import erase, set_chord, set_remark
from tabterm.score.operations.spelling import plain_value
from tabterm.score.operations.timeline import rest_measure, splice
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tests.build import PLAYER, music
from tests.thorough import many

CONTEXTS = {
    "bluegrass": ("4/4", "G", "1/4=104", ("G", "G", "D7", "G")),
    "old-time": ("C|", "A", "1/2=76", ("A", "D", "E7", "A")),
    "jig": ("6/8", "D", "3/8=100", ("D", "G", "A7", "D")),
    "blues": ("4/4", "Am", "1/4=92", ("Am7", "Am7", "E7", "Am7")),
    "waltz": ("3/4", "G", "1/4=112", ("G", "C", "D7", "G")),
    "ii V I": ("4/4", "C", "1/4=96", ("Dm7", "G7", "Cmaj7", "Cmaj7")),
}
"""Metre, key, tempo and chords of four measures."""

PHRASE = Span(Place(0), Place(2))
TRIES = settings(max_examples=many(2, 25))


@st.composite
def themes(draw, names=tuple(CONTEXTS)):
    """Two measures of a melody in first position, by step and by third, and two measures of rest behind."""
    metre, key, tempo, chords = CONTEXTS[draw(st.sampled_from(names))]
    whole, home = Metre.parse(metre), Key.parse(key)
    head = Head(metre=whole, key=home, tempo=Tempo.parse(tempo))
    measures = tuple(
        rest_measure(whole).with_(chords=(ChordMark(offset=Fraction(0), symbol=symbol),)) for symbol in chords
    )
    score = Score(head=head, measures=measures)
    scale = [pitch for pitch in range(57, 82) if (pitch - home.tonic) % 12 in mode_tones(home.mode)]
    at = draw(st.integers(4, len(scale) - 5))
    fillings = []
    for _ in range(2):
        for length in draw(st.sampled_from(usual_rhythms(whole))):
            at = min(max(at + draw(st.sampled_from([-2, -1, -1, 1, 1, 2])), 0), len(scale) - 1)
            course, fret = next(spot for spot in head.instrument.places_of(scale[at]) if spot[1] < 8)
            value = plain_value(length) or Duration(4)
            fillings.append((Event(duration=value, notes=(Note(course=course, fret=fret),)), length))
    return splice(score, Place(0), fillings)


def made(score, way, span=PHRASE, **wanted):
    """The candidates of a way, none where there is no phrase of that kind."""
    try:
        return invented(score, PLAYER, span, Wanted(way, **wanted))
    except ScoreError:
        return ()


def heard(score, span):
    """When which pitches begin in a span."""
    return [(each.at, each.pitch) for each in sounds(score, span)]


def troubles(score, span):
    """What the hand finds in a span."""
    found = findings(with_hands(score, PLAYER), PLAYER)
    return {(each.code, each.place, each.course) for each in found if each.place in span}


def effort(score, span):
    """How much of the limit each event of a span asks for, with silence around it."""
    for beside in (Span(Place(0), span.start), Span(span.end, Place(len(score.measures)))):
        score = erase(score, beside) if beside.start < beside.end else score
    handed = with_hands(score, PLAYER)
    levels = curve(handed, fingering(handed, PLAYER))
    return [use for measure in levels.values() for use in measure.values()]


def check_all(score, way, found):
    """What holds for every way: no new finding, whole measures, all else as it was, all different."""
    span = PHRASE
    before = troubles(score, span)
    marks = []
    for each in found:
        assert each.use <= 1.0
        assert not troubles(each.score, each.span) - before
        assert each.score.head == score.head
        for index, measure in enumerate(score.measures):
            if not each.span.start.measure <= index <= each.span.end.measure - (each.span.end.offset == 0):
                assert each.score.measures[index] == measure or way is Way.OVER
        events = tuple(
            (offset, event.with_(stroke=None))
            for index in range(each.span.start.measure, min(each.span.end.measure + 1, len(each.score.measures)))
            for offset, event in each.score.measures[index].timed()
        )
        marks.append((heard(each.score, each.span), events))
    for number, one in enumerate(marks):
        assert all(one != other for other in marks[:number])
        if way not in {Way.ORNAMENTED, Way.PLAINER}:
            for other in marks[:number]:
                same = len({*one[0]} & {*other[0]})
                apart = 1 - same / max(len(one[0]), len(other[0]))
                assert apart >= APART.get(way, LEAST_APART) - 1e-9


def ends_at_home(score, span):
    """Whether the last note is the root or the third of its chord."""
    last = max(sounds(score, span), key=lambda each: each.at)
    chord = harmony_in_force(score, last.place)
    return last.pitch % 12 in {chord.root, chord.tone(chord.third)}


@TRIES
@given(score=themes())
def test_another_order_has_the_same_notes_and_rhythm(score):
    found = made(score, Way.REORDERED, count=3)
    check_all(score, Way.REORDERED, found)
    old = heard(score, PHRASE)
    for each in found:
        new = heard(each.score, each.span)
        assert Counter(pitch for _, pitch in new) == Counter(pitch for _, pitch in old)
        assert [at for at, _ in new] == [at for at, _ in old]


@TRIES
@given(score=themes())
def test_other_notes_keep_the_rhythm_and_lead_home(score):
    found = made(score, Way.REPITCHED)
    assert len(found) == 5
    check_all(score, Way.REPITCHED, found)
    for each in found:
        assert [at for at, _ in heard(each.score, each.span)] == [at for at, _ in heard(score, PHRASE)]
        assert ends_at_home(each.score, each.span)


@TRIES
@given(score=themes(), chord=st.sampled_from(["F", "Bm7", "E7"]))
def test_over_another_chord_the_contour_stays(score, chord):
    found = made(score, Way.OVER, chord=chord)
    check_all(score, Way.OVER, found)
    old = [pitch for _, pitch in heard(score, PHRASE)]
    for each in found:
        new = [pitch for _, pitch in heard(each.score, each.span)]
        same = sum(
            (b > a) - (b < a) == (d > c) - (d < c) for (a, c), (b, d) in pairwise(zip(old, new, strict=True))
        )
        assert same >= 0.85 * (len(old) - 1)
        assert each.score.measures[0].chords[0].symbol == chord
        assert not each.score.measures[1].chords
        assert each.score.measures[2].chords == score.measures[2].chords
        assert ends_at_home(each.score, each.span)


@TRIES
@given(score=themes())
def test_ornaments_leave_the_melody_where_it_is(score):
    found = made(score, Way.ORNAMENTED)
    check_all(score, Way.ORNAMENTED, found)
    for each in found:
        top = dict(sorted(heard(each.score, each.span)))
        assert dict(heard(score, PHRASE)).items() <= top.items()


@TRIES
@given(score=themes())
def test_plainer_is_easier_and_keeps_the_first_beats(score):
    found = made(score, Way.PLAINER)
    check_all(score, Way.PLAINER, found)
    old, strong = (
        effort(score, PHRASE),
        {(each.at, each.pitch) for each in sounds(score, PHRASE) if each.strength > 1},
    )
    for each in found:
        new = effort(each.score, each.span)
        assert max(new) < max(old) or (max(new) <= max(old) + 1e-6 and sum(new) < sum(old))
        kept = {*heard(each.score, each.span)}
        assert kept <= {*heard(score, PHRASE)}
        assert strong <= kept or "repeated" in each.told


@TRIES
@given(score=themes())
def test_an_extension_keeps_the_phrase_and_lands_on_the_next_chord(score):
    found = made(score, Way.EXTENDED)
    assert found
    check_all(score, Way.EXTENDED, found)
    old = heard(score, PHRASE)
    beats = score.head.metre.length / len(score.head.metre.beats)
    for each in found:
        new = heard(each.score, each.span)
        kept = [pair for pair in old if pair[0] + beats < 2 * score.head.metre.length]
        assert new[: len(kept) - 1] == kept[:-1]
        assert ends_at_home(each.score, each.span)
        assert each.span.end > PHRASE.end


@TRIES
@given(score=themes())
def test_an_answer_begins_like_the_question_and_comes_home(score):
    found = made(score, Way.ANSWER)
    assert found
    check_all(score, Way.ANSWER, found)
    for each in found:
        assert each.span == Span(Place(2), Place(4))
        assert ends_at_home(each.score, each.span)
        last = max(sounds(each.score, each.span), key=lambda note: note.at)
        assert last.length >= score.head.metre.length / len(score.head.metre.beats)


POOLS = {
    "G": "G major pentatonic",
    "A": "A major blues",
    "D": "D mixolydian",
    "Am": "A minor pentatonic",
    "C": "C major",
}


@TRIES
@given(score=themes(), shape=st.sampled_from(["", "rises", "falls and rises"]), limit=st.sampled_from([1.0, 0.8]))
def test_from_a_pool_every_note_is_of_it_and_lands_where_it_is_told_to(score, shape, limit):
    pool = pool_named(POOLS[str(score.head.key)])
    demand = Demand(contour=shape, start="1", target="5")
    found = made(score, Way.NEW, span=Span(Place(2), Place(4)), pool=pool, demand=demand, limit=limit)
    for each in found:
        assert not troubles(each.score, each.span)
        assert each.use <= limit
        pitches = [pitch for _, pitch in heard(each.score, each.span)]
        assert all(pool.degree(pitch) for pitch in pitches)
        assert (pool.degree(pitches[0]), pool.degree(pitches[-1])) == ("1", "5")
        assert not shape or contour(pitches) == shape


def test_a_question_of_few_long_notes_has_answers_too():
    """Its first half is one note, which has no move to be like another."""
    metre, key, tempo, chords = CONTEXTS["waltz"]
    whole = Metre.parse(metre)
    marks = [(ChordMark(offset=Fraction(0), symbol=symbol),) for symbol in chords]
    score = Score(
        head=Head(metre=whole, key=Key.parse(key), tempo=Tempo.parse(tempo)),
        measures=tuple(rest_measure(whole).with_(chords=each) for each in marks),
    )
    line = [("2", 5, 2), ("4", 2, 1), ("2", 2, 2), ("4", 4, 1)]
    events = [
        (Event(duration=Duration.parse(d), notes=(Note(course=4, fret=f),)), Fraction(n)) for d, f, n in line
    ]
    assert len(made(splice(score, Place(0), events), Way.ANSWER)) == 5


def test_an_answer_rests_on_the_last_strong_beat_of_a_short_last_measure():
    """A jig whose last measure gives a beat to the next part: it rests there, not a beat before."""
    jig = tabterm.open("samples/tunes/the-irish-washerwoman.tabterm", player=PLAYER)
    for each in jig.invented("answer", 1, 4, count=2):
        last = max(sounds(each.score, each.span), key=lambda note: note.at)
        assert last.place == Place(8)
        assert ends_at_home(each.score, each.span)


def reel(first=2, last=3):
    """Some measures of a reel in first position."""
    tune = tabterm.open("samples/tunes/soldiers-joy.tabterm", player=PLAYER).score
    return tune, Span(Place(first), Place(last + 1))


def test_a_phrase_in_first_position_stays_there_whatever_the_chord():
    """D# and E on the D course at frets 1 and 2, never at G 8 under the little finger."""
    tune, span = reel()
    for seed in range(3):
        for each in invented(tune, PLAYER, span, Wanted(Way.OVER, chord="B7", seed=seed)):
            frets = [note.fret for one in each.score.measures[2:4] for event in one.events for note in event.notes]
            assert max(frets) <= 7


def test_a_remark_goes_with_the_notes_that_it_stands_over():
    tune, span = reel()
    tune = set_remark(set_remark(set_remark(tune, 2, "reach for the D"), 3, "as before"), 4, "next")
    for each in invented(tune, PLAYER, span, Wanted(Way.OVER, chord="Eb7", count=2)):
        assert [one.remark for one in each.score.measures[2:5]] == ["", "", "next"]
    for each in invented(tune, PLAYER, span, Wanted(Way.ORNAMENTED, count=2)):
        assert [one.remark for one in each.score.measures[2:5]] == ["reach for the D", "as before", "next"]


# What a teacher does with a short, plain phrase: a neighbour note, a note struck again, an octave, a double stop.
@pytest.mark.parametrize("notes", ["4 2.0, 4 2.2, 2", "2 2.5, 2 2.2", "4 2.0, 2. 3.0"])
def test_a_short_phrase_has_five_ornaments_that_keep_its_notes(notes):
    tune = set_chord(music(f"{notes} | 1 | 1", key="D"), Place(0), "D")
    span = Span(Place(0), Place(1))
    found = invented(tune, PLAYER, span, Wanted(Way.ORNAMENTED))
    assert len(found) == 5
    before = {(each.place, each.pitch) for each in sounds(tune, span)}
    half_below = {(pitch - 1) % 12 for _, pitch in before}
    for each in found:
        heard = {(note.place, note.pitch) for note in sounds(each.score, span)}
        assert before <= heard
        assert {pitch % 12 for _, pitch in heard} <= half_below | {2, 4, 6, 7, 9, 11, 1}


def test_a_repeated_note_is_another_repeated_tone_over_another_chord():
    tune = set_chord(music("4 2.0, 4 2.0, 4 2.0, 4 2.0 | 1 | 1", key="D"), Place(0), "D")
    found = invented(tune, PLAYER, Span(Place(0), Place(1)), Wanted(Way.OVER, chord="G"))
    assert len(found) > 1
    for each in found:
        pitches = {note.pitch for note in sounds(each.score, Span(Place(0), Place(1)))}
        assert len(pitches) == 1
        assert min(pitches) % 12 in (7, 11, 2)
