"""Fitting a line to the neck: octaves by the range, contour, keys, articulations, and that all of it is said."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.formats import native
from tabterm.hand.adapt import EASIEST, adapt
from tabterm.hand.adapt.line import line_of, phrased
from tabterm.hand.adapt.octaves import (
    joint_points,
    lowest_frets,
    move_points,
    octaves,
    place_points,
    shifts,
)
from tabterm.hand.fingering import fingering
from tabterm.hand.review import findings
from tabterm.harmony.chords import parse_chord
from tabterm.instrument import PRESETS, pitch_name
from tabterm.score import operations as do
from tabterm.score.comparison import differences, transposition
from tabterm.score.key import Key
from tabterm.score.kinds import Direction, Reached, Stroke
from tabterm.score.line import EVENT_MARKS, NOTE_MARKS
from tabterm.score.model import ChordMark
from tabterm.score.place import Place
from tabterm.score.report import Kind
from tabterm.score.source import Bend
from tests.build import PLAYER
from tests.foreign import arranged, line, played
from tests.hand.chords import BENT, bent, shown
from tests.thorough import many

MANDOLIN = PRESETS["mandolin"]
FRETS = lowest_frets(MANDOLIN)
KEYS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def said(adaptation, kind):
    return [done for done in adaptation.report.remarks if done.kind is kind]


# The range: pitches of open strings and highest frets as instruments are usually tuned (common practice; the
# names of the open strings are those of the English Wikipedia articles on each instrument)
RANGES = {
    "six-string guitar E2 to E6": ("E2", "B2", "E3", "G3", "B3", "E4", "B4", "E5"),
    "bass guitar E1 to G4": ("E1", "A1", "D2", "G2", "D3", "G3"),
    "five-string banjo D3 to D6": ("D3", "G3", "B3", "D4", "G4", "D5"),
    "tenor saxophone Ab2 to E5": ("G#2", "C3", "F3", "C4", "G4", "E5"),
    "soprano recorder C5 to D7": ("C5", "G5", "C6", "G6", "C7", "D7"),
    "violoncello C2 to A5": ("C2", "G2", "D3", "A3", "D4", "A4"),
}


@pytest.mark.parametrize("names", RANGES.values(), ids=RANGES)
def test_every_instrument_comes_onto_the_neck(names):
    text = " ".join(f"{name}/8" for name in names)
    fitted = adapt(line(f"{text} r/{'4' if len(names) == 6 else '8'}" if len(names) < 8 else text), PLAYER)
    pitches = [MANDOLIN.pitch(n.course, n.fret) for m in fitted.score.measures for e in m.events for n in e.notes]
    assert len(pitches) == len(names)
    assert all(55 <= pitch <= 55 + 21 + 20 for pitch in pitches)
    assert [pitch % 12 for pitch in pitches] == [pitch % 12 for pitch in _pitches(names)]


def _pitches(names):
    from tabterm.instrument import parse_pitch

    return [parse_pitch(name) for name in names]


def test_what_fits_stays():
    text = "G3/8 A3/8 B3/8 C4/8 D4/8 E4/8 F#4/8 G4/8 | A4/4 B4/4 C5/4 D5/4"
    fitted = adapt(line(text, key=Key.parse("G")), PLAYER)
    assert played(fitted.score) == text
    assert not fitted.report.remarks
    assert fitted.report.summary == "12 notes fitted to the Mandolin: everything as written"


def test_the_whole_moves_by_octaves_and_says_so():
    fitted = adapt(line("E2/8 G2/8 A2/8 B2/8 D3/8 E3/8 G3/8 A3/8"), PLAYER)
    assert played(fitted.score) == "E4/8 G4/8 A4/8 B4/8 D5/8 E5/8 G5/8 A5/8"
    (whole,) = fitted.report.remarks
    assert (whole.kind, whole.place) == (Kind.WHOLE, None)
    assert "2 octaves up: the line goes from E2 to A3, the neck from G3 to C7" in whole.message
    assert transposition(fitted.score) == 24
    assert not differences(fitted.score)


def test_a_high_line_comes_down_to_where_the_hand_begins():
    """A fiddle tune in A lies above the seventh fret of an octave mandolin, an octave lower in first position."""
    fitted = adapt(
        line("C#5/8 E5/8 F#5/8 E5/8 D5/8 C#5/8 B4/8 A4/8"), PLAYER, instrument=PRESETS["octave-mandolin"]
    )
    assert fitted.report.summary == "8 notes fitted to the Octave mandolin: everything an octave down"
    assert max(note.fret for event in fitted.score.measures[0].events for note in event.notes) <= 7


def test_a_low_phrase_moves_alone_and_every_note_of_it_is_reported():
    """A phrase ends at a rest. The last one goes below the neck; all of it goes up, and no other note does.

    The whole cannot go up: D6 would leave the neck.
    """
    high = "G4/8 B4/8 C5/8 E5/8 G5/8 B5/8 D6/8 r/8"
    low = "B3/8 A3/8 G3/8 E3/8 G3/8 A3/8 B3/4"
    fitted = adapt(line(f"{high} | {high} | {high} | {low}", key=Key.parse("G")), PLAYER)
    moved = said(fitted, Kind.MOVED)
    assert played(fitted.score) == f"{high} | {high} | {high} | B4/8 A4/8 G4/8 E4/8 G4/8 A4/8 B4/4"
    assert [done.place.measure for done in moved] == [3] * 7
    assert "E3 would be below G3, the end of the neck" in moved[0].message
    assert "E3 as E4" in moved[3].message
    assert fitted.score.measures[3].source[3].pitches == (52,)


def test_no_octave_changes_inside_a_slur():
    """A slurred run that begins on the neck and ends below it moves as one, or not at all."""
    text = "G4/8 B4/8 C5/8 E5/8 G5/8 B5/8 D6/8 G5/8 | D4/8 pB3/8 pG3/8 pE3/8 D4/2"
    fitted = adapt(line(text, key=Key.parse("G")), PLAYER)
    run = _pitches(word.split("/")[0] for word in played(fitted.score).split(" | ")[1].split())[:4]
    assert [one - other for one, other in pairwise(run)] == [3, 4, 3]


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_octaves_are_the_best_there_are(data):
    """Every way of up to five moments through up to four octaves, added up one by one."""
    names = data.draw(st.lists(st.integers(36, 105).map(pitch_name), min_size=2, max_size=5))
    signs = data.draw(st.lists(st.sampled_from(["", "h", ""]), min_size=len(names), max_size=len(names)))
    rests = data.draw(st.lists(st.booleans(), min_size=len(names), max_size=len(names)))
    words, bare = [], True
    for name, sign, rest in zip(names, signs, rests, strict=True):
        words += [f"{'' if bare else sign}{name}/8", *(["r/8"] if rest else [])]
        bare = rest
    words += ["r/8"] * (16 - len(words))
    moments = [m for m in phrased(line(f"{' '.join(words[:8])} | {' '.join(words[8:])}")) if m.notes]
    semitones = data.draw(st.integers(-6, 5))
    choices = [shifts(FRETS, moment.top + semitones) for moment in moments]

    def points(way, whole):
        total = sum(
            place_points(FRETS, m, semitones + 12 * shift) + move_points(shift, whole)
            for m, shift in zip(moments, way, strict=True)
        )
        pairs = zip(pairwise(moments), pairwise(way), strict=True)
        return total + sum(joint_points(*both, *change) for both, change in pairs)

    wholes = {shift for choice in choices for shift in choice}
    best = min(points(way, whole) for way in product(*choices) for whole in wholes)
    found = octaves(FRETS, moments, semitones)
    assert found.points == pytest.approx(best)
    assert points(found.each, found.whole) == pytest.approx(best)


@settings(max_examples=many(20, 40), deadline=None)
@given(
    st.lists(st.integers(-5, 5).filter(bool), min_size=20, max_size=60), st.integers(30, 100), st.integers(0, 6)
)
def test_whatever_the_line_it_is_on_the_neck_in_one_piece(intervals, start, rest_at):
    """Pitch classes are kept; an interval changes only where that is reported; and nothing is lost."""
    pitches = [start]
    for interval in intervals:
        pitches.append(min(max(pitches[-1] + interval, 24), 108))
    words = [f"{pitch_name(pitch)}/8" if number % 7 != rest_at else "r/8" for number, pitch in enumerate(pitches)]
    words += ["r/8"] * (-len(words) % 8)
    written = line(" | ".join(" ".join(words[at : at + 8]) for at in range(0, len(words), 8)))
    fitted = adapt(written, PLAYER)
    before = [moment for moment in phrased(written) if moment.notes]
    after = [moment for moment in phrased(line_of(fitted.score, own=True)) if moment.notes]
    assert [moment.place for moment in before] == [moment.place for moment in after]
    assert all((one.top - other.top) % 12 == 0 for one, other in zip(before, after, strict=True))
    moved = {done.place for done in said(fitted, Kind.MOVED)}
    for (one, other), (new, later) in zip(pairwise(before), pairwise(after), strict=True):
        if not {one.place, other.place} & moved:
            assert other.top - one.top == later.top - new.top
    assert fitted.score.measures[0].source == written.measures[0].source
    assert differences(fitted.score) == () or moved


def test_phrases_end_with_an_ending_not_at_each_of_its_bar_lines():
    written = line(" | ".join(["D4/1"] * 6))
    endings = ((), (), (1,), (1,), (2,), (2,))
    bars = [bar.with_(endings=each) for bar, each in zip(written.measures, endings, strict=True)]
    moments = phrased(written.with_(measures=tuple(bars)))
    assert [moment.opens for moment in moments] == [True, False, True, False, True, False]


# Keys


def test_a_key_that_is_asked_for():
    sung = line("Ab3/8 Bb3/8 C4/8 Db4/8 Eb4/8 F4/8 G4/8 Ab4/8", key=Key.parse("Ab"))
    sung = sung.with_(measures=(sung.measures[0].with_(chords=(ChordMark(offset=0, symbol="Ab7"),)),))
    fitted = adapt(sung, PLAYER, key="G")
    assert played(fitted.score) == "G3/8 A3/8 B3/8 C4/8 D4/8 E4/8 F#4/8 G4/8"
    assert str(fitted.score.head.key) == "G"
    assert fitted.score.measures[0].chords[0].symbol == "G7"
    assert parse_chord("G7").root == Key.parse("G").tonic
    assert transposition(fitted.score) == -1
    with pytest.raises(ScoreError, match="not a key"):
        adapt(sung, PLAYER, key="H")


def test_a_line_that_was_fitted_in_another_key_is_fitted_from_its_own_again():
    """Notes, key and chord symbols stay together, and so do the marks, whatever key it was in before."""
    sung = line("C4/8 D4/8 E4/8 F4/8 {A4}G4/8 hA4/8 B4/8 C5/8")
    sung = sung.with_(measures=(sung.measures[0].with_(chords=(ChordMark(offset=0, symbol="C"),)),))
    in_g = adapt(sung, PLAYER, key="G").score
    assert transposition(in_g) == -5
    for key, first in (
        (None, adapt(sung, PLAYER)),
        ("A", adapt(sung, PLAYER, key="A")),
        ("G", adapt(sung, PLAYER, key="G")),
    ):
        again = adapt(in_g, PLAYER, key=key)
        assert again.score == first.score
        assert again.report.summary == first.report.summary
    assert adapt(in_g, PLAYER, key="A").report.remarks[0].message == "in A instead of C, as asked"


def test_a_finger_stays_only_where_it_was_set():
    """The arrangement has G in first position, the original C: what is fitted there anew is another note."""
    in_g = adapt(line("C4/8 D4/8 E4/8 F4/8 G4/8 A4/8 B4/8 C5/8"), PLAYER, key="G").score
    second = in_g.measures[0].events[1]
    set_there = second.with_(notes=(second.notes[0].with_(finger=3),))
    events = (in_g.measures[0].events[0], set_there, *in_g.measures[0].events[2:])
    marked = in_g.with_(measures=(in_g.measures[0].with_(events=events),))
    assert all(
        note.finger is None for event in adapt(marked, PLAYER).score.measures[0].events for note in event.notes
    )
    kept = adapt(marked, PLAYER, own=True).score.measures[0].events[1].notes[0]
    assert kept.finger == 3


def test_the_easiest_key_gives_its_reasons_in_numbers():
    """A scale of A flat has no open course; the easiest key has the fewest points of the search of all twelve."""
    sung = line("Ab3/8 Bb3/8 C4/8 Db4/8 Eb4/8 F4/8 G4/8 Ab4/8 | Ab4/8 G4/8 F4/8 Eb4/8 Db4/8 C4/8 Bb3/8 Ab3/8")
    sung = sung.with_(head=sung.head.with_(key=Key.parse("Ab")))
    fitted = adapt(sung, PLAYER, key=EASIEST)
    keys = [str(adapt(sung, PLAYER, key=name).score.head.key) for name in KEYS]
    points = [fingering(adapt(sung, PLAYER, key=name).score, PLAYER).points for name in KEYS]
    assert points[keys.index(str(fitted.score.head.key))] == min(points)
    words = fitted.report.remarks[0].message
    assert "instead of Ab" in words
    for fact in ("% of the notes on open courses", "frets up to", "points of effort a note", "from "):
        assert fact in words
    notes = [n for m in fitted.score.measures for e in m.events for n in e.notes]
    share = sum(n.fret == 0 for n in notes) / len(notes)
    assert share > 0.2
    assert f"{share:.0%} instead of 0% of the notes on open courses" in words


# Articulations


def test_slurs_stay_where_a_hand_can_play_them():
    fitted = adapt(line("D4/8 hE4/8 pD4/8 G3/8 sA3/8 {G4}hB4/8 ^A4/4"), PLAYER)
    notes = [event.notes[0] for event in fitted.score.measures[0].events]
    assert [note.reached.value for note in notes[:3]] == ["struck", "hammer", "pull"]
    assert fitted.score.measures[0].events[6].accent
    assert [done.message for done in said(fitted, Kind.CHANGED)] == [
        "the slide to A3 is picked: too far, or not on one course"
    ]


def test_a_slur_from_one_course_to_the_next_finds_a_course_that_has_both():
    """An open A has no fret to be pulled off to; A on the d course has, with the lower finger down beforehand."""
    fitted = adapt(line("G4/8 hA4/8 A4/8 pG4/8 D5/8 hE5/8 E5/8 pD5/8"), PLAYER)
    notes = [event.notes[0] for event in fitted.score.measures[0].events]
    assert [note.reached.value for note in notes] == ["struck", "hammer", "struck", "pull"] * 2
    assert [note.course for note in notes] == [3] * 4 + [2] * 4
    assert notes[3].proposed_finger < notes[2].proposed_finger
    assert not fitted.report.remarks


def test_a_tie_that_only_the_original_tells_is_kept():
    """What is played may have had no room for it."""
    sung = arranged("G3+D4+A4/2 A4/2")
    first, second = sung.measures[0].source
    source = (first, second.with_(tied=True))
    fitted = adapt(sung.with_(measures=(sung.measures[0].with_(source=source),)), PLAYER)
    assert fitted.score.measures[0].events[1].notes[0].tied


def test_what_cannot_be_slurred_is_picked_and_said():
    fitted = adapt(line("G3/8 hE4/8 A4/8 hA5/8 D5/8 sG5/8 r/4"), PLAYER)
    assert not any(note.slurred for event in fitted.score.measures[0].events[:4] for note in event.notes)
    places = [done.place for done in said(fitted, Kind.CHANGED)]
    assert [place.offset for place in places] == [Fraction(1, 2), Fraction(3, 2)]
    assert findings(fitted.score, PLAYER) == ()


@pytest.mark.parametrize("words", BENT)
def test_a_bend_comes_to_the_pitch_that_it_is_meant_to_reach(words):
    cents, shape, played_as, how = BENT[words]
    fitted = adapt(bent(line(words), 1, Bend(cents=cents, shape=shape)), PLAYER)
    assert shown(fitted.score.measures[0].events[1]) == played_as
    messages = [done.message for done in said(fitted, Kind.CHANGED)]
    assert len(messages) == bool(how)
    assert all(f" {how}: " in message for message in messages)
    assert differences(fitted.score) == ()
    assert all(finding.severity != "impossible" for finding in findings(fitted.score, PLAYER))
    assert adapt(fitted.score, PLAYER).score == fitted.score


def test_what_follows_a_bend_goes_on_from_the_pitch_that_it_reached():
    """A tied note stays up there; what was pulled off from it is pulled off from there, or is the same pitch."""
    sung = bent(line("B4/4 G5/2 (G5/4 | (G5/4 pE5/4 A5/2"), 1, Bend(cents=200))
    fitted = adapt(sung, PLAYER).score
    notes = [event.notes[0] for measure in fitted.measures for event in measure.events]
    assert [(note.fret, note.tied, str(note.reached)) for note in notes[1:5]] == [
        (5, False, "slide"),
        (5, True, "struck"),
        (5, True, "struck"),
        (0, False, "pull"),
    ]
    upward = adapt(bent(line("B4/4 G5/2 hA5/4"), 1, Bend(cents=200)), PLAYER).score.measures[0].events[2]
    assert (upward.notes[0].fret, str(upward.notes[0].reached)) == (5, "struck")


def test_a_note_that_is_bent_while_it_is_held_is_slid():
    fitted = adapt(bent(line("B4/4 G5/4 (G5/4 A5/4"), 2, Bend(cents=200)), PLAYER).score
    held = fitted.measures[0].events[2].notes[0]
    assert (held.fret, str(held.reached), held.tied) == (5, "slide", False)


def test_a_bend_that_reaches_no_fret_and_that_no_course_gives_is_left_out():
    low = bent(line("B4/4 G3/2 A4/4"), 1, Bend(cents=50))
    (done,) = said(adapt(low, PLAYER), Kind.CHANGED)
    assert done.message == "the bend of G3 is left out: an open course cannot be bent"


def marks_of(music):
    """What is marked on each moment of a line: on its notes, by pitch, and on the moment itself."""
    return [
        (
            {note.pitch: [getattr(note, name) for name in ("reached", *NOTE_MARKS)] for note in moment.notes},
            [getattr(moment, name) for name in EVENT_MARKS],
            [(note.pitch, note.reached) for note in moment.grace],
        )
        for bar in music.measures
        for moment in bar.events
    ]


# Slurs beyond a hand or from nowhere, chords that lose notes, repeated pitches, a bend on an open course.
MARKED = (
    "A4/8 hB5/8 B5/8 B5/8 pA4/8 A4/8 hA4/8 sA5/8",
    "A4/8 ^A4/8 hA4/8 sA4/8 {G4}A4/8 A4/8 hB4/8 pA4/8",
    "E2+B2+E3+G3+B3+E4/4 sF2+C3+F3+G#3+C4+F4/4 ^hE2/4 r/8 hE4/8",
    "hE4/2 pE4/2 | sE4/1",
)


@pytest.mark.parametrize("text", MARKED)
@pytest.mark.parametrize("instrument", ["mandolin", "tenor-banjo"])
def test_a_line_that_is_fitted_anew_has_every_mark_of_the_original(text, instrument):
    original = line(text)
    last = original.measures[-1]
    bent = last.events[-1].notes[0].with_(bend=Bend(cents=200), vibrato=True, slide_out=Direction.DOWN)
    end = last.events[-1].with_(notes=(bent, *last.events[-1].notes[1:]))
    original = original.with_(measures=(*original.measures[:-1], last.with_(events=(*last.events[:-1], end))))
    first = adapt(original, PLAYER, key="Eb")
    kept = native.read(native.write(first.score))
    assert marks_of(line_of(kept, shift=transposition(kept))) == marks_of(original)
    anew = adapt(kept, PLAYER, instrument=PRESETS[instrument])
    assert anew.score.measures == adapt(original, PLAYER, instrument=PRESETS[instrument]).score.measures


def test_marks_that_the_player_added_stay_where_the_original_has_none():
    fitted = adapt(line("E5/4 F#5/4 ^G5/4 A5/4"), PLAYER).score
    slurred = do.set_reached(fitted, Place(0, Fraction(1)), 1, Reached.HAMMER)
    slurred = do.set_stroke(slurred, Place(0, Fraction(2)), Stroke.UP)
    events = adapt(native.read(native.write(slurred)), PLAYER).score.measures[0].events
    assert [event.notes[0].reached for event in events] == ["struck", "hammer", "struck", "struck"]
    assert [(event.accent, event.stroke) for event in events[2:]] == [(True, Stroke.UP), (False, None)]


def test_ties_last():
    fitted = adapt(line("D3/4 B3/4 C4/2 | (C4/4 E4/4 G3+B3/2 | (G3+B3/2 r/2"), PLAYER)
    ties = [sum(note.tied for note in event.notes) for m in fitted.score.measures for event in m.events]
    assert ties == [0, 0, 0, 1, 0, 0, 2, 0]
    assert fitted.report.summary.startswith("6 notes fitted")


def test_another_instrument_takes_the_line_over():
    """Six strings tuned in fourths, read as pitches; fingers, which belong to them, are dropped."""
    low = PRESETS["mandolin"].with_(
        name="Six-string", courses=tuple({"pitch": pitch} for pitch in (64, 59, 55, 50, 45, 40)), frets=22
    )
    sung = arranged("E2/8 B2/8 D3/8 E3/8 G3/8 A3/8 B3/8 D4/8", instrument=low)
    event = sung.measures[0].events[1]
    fingered = event.with_(notes=(event.notes[0].with_(finger=2),))
    events = (sung.measures[0].events[0], fingered, *sung.measures[0].events[2:])
    sung = sung.with_(measures=(sung.measures[0].with_(events=events, source=()),))
    fitted = adapt(sung, PLAYER, instrument=MANDOLIN, own=True)
    assert fitted.score.head.instrument == MANDOLIN
    assert played(fitted.score) == "E4/8 B4/8 D5/8 E5/8 G5/8 A5/8 B5/8 D6/8"
    assert all(note.finger is None for event in fitted.score.measures[0].events for note in event.notes)
    assert [event.pitches[0] for event in fitted.score.measures[0].source] == [40, 47, 50, 52, 55, 57, 59, 62]
