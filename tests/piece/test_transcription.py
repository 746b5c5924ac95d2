"""What was heard, put into measures: pickups, chords of the band, how the recording is tuned."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tabterm.piece.transcription import Passage, transcribed
from tabterm.recording.beats import Beats
from tabterm.recording.chords import BeatChord
from tabterm.recording.ear import HeardNote, Way
from tabterm.score.metre import COMMON_TIME
from tests import build

BEAT_S = 0.5
SCALE = (67, 69, 71, 72, 74, 76, 78, 79)


def heard(lead, *, told, downbeat=0):
    """Eighths from so many before a beat that begins a measure, at 120 to the minute."""
    beats = Beats(tuple(4 + BEAT_S * beat for beat in range(-8, 24)), 8 + downbeat, COMMON_TIME)
    onsets = [4 + BEAT_S / 2 * (at - lead) for at in range(lead + 16)]
    notes = tuple(HeardNote(at, at + 0.24, SCALE[index % 8], 1.0, (60,)) for index, at in enumerate(onsets))
    return Passage(Path("steps.ogg"), notes, beats, told=told)


@pytest.mark.parametrize("lead", range(1, 8))
def test_what_comes_before_the_downbeat_is_a_pickup_however_long(lead):
    """Every length of a lead-in of less than a measure is written as a short measure, without a rest."""
    score = transcribed(heard(lead, told=True), build.PLAYER).score
    assert score.measures[0].short
    assert float(score.measures[0].length) == lead / 2
    assert not score.measures[0].events[0].is_rest


@pytest.mark.parametrize(("lead", "pickup"), [(6, 3.0), (4, 2.0), (7, None), (0, None)])
def test_where_the_downbeat_is_guessed_a_rest_of_an_eighth_stays(lead, pickup):
    first = transcribed(heard(lead, told=False), build.PLAYER).score.measures[0]
    assert (float(first.length) if first.short else None) == pickup
    assert first.events[0].is_rest == (lead == 7)


def test_a_downbeat_told_later_on_leaves_the_pickup_to_the_same_rule():
    first = transcribed(heard(6, told=True, downbeat=8), build.PLAYER).score.measures[0]
    assert (first.short, float(first.length)) == (True, 3.0)


def marked(score):
    return [(index, mark.offset, mark.symbol) for index, bar in enumerate(score.measures) for mark in bar.chords]


@pytest.mark.parametrize(("lead", "bars"), [(0, 0), (3, 1), (6, 1)])
def test_the_chords_of_the_band_stand_over_their_beats(lead, bars):
    """G from long before, D on the third beat of the first whole measure, C at the next."""
    symbols = ["G"] * 10 + ["D7"] * 2 + ["C"] * 9
    passage = replace(heard(lead, told=True), chords=tuple(BeatChord(symbol, 0.9) for symbol in symbols))
    score = transcribed(passage, build.PLAYER).score
    assert marked(score) == [(0, 0, "G"), (bars, Fraction(2), "D7"), (bars + 1, 0, "C")]


def test_chords_that_nobody_seems_to_play_are_left_out():
    passage = replace(heard(0, told=True), chords=(BeatChord("G", 0.3),) * 20)
    assert marked(transcribed(passage, build.PLAYER).score) == []


def test_slurs_slides_and_bends_are_proposed_in_the_original_line():
    """From the second eighth on: a hammer-on, a slide, a pull-off, a bend by a semitone."""
    ways = {1: ("slurred", 0), 2: ("slid", 0), 3: ("slurred", 0), 4: ("struck", 100)}
    passage = heard(0, told=True)
    notes = tuple(
        note._replace(way=Way(ways.get(at, ("struck", 0))[0]), bend_cents=ways.get(at, ("struck", 0))[1])
        for at, note in enumerate(passage.notes)
    )
    notes = (*notes[:3], notes[3]._replace(pitch=69), *notes[4:])
    score = transcribed(replace(passage, notes=notes), build.PLAYER).score
    events = [event for bar in score.measures for event in bar.events]
    reached = [str(event.notes[0].reached) for event in events[:9]]
    assert reached == ["struck", "hammer", "slide", "pull", *["struck"] * 5]
    assert [event.notes[0].bend.cents if event.notes[0].bend else 0 for event in events[3:6]] == [0, 100, 0]


def test_the_report_tells_how_far_the_recording_is_off_pitch():
    low = replace(heard(0, told=True), cents=-31.4)
    assert "tuned 31 cents below A4 = 440 Hz" in str(transcribed(low, build.PLAYER).report)
    assert "cents" not in str(transcribed(heard(0, told=True), build.PLAYER).report)


def test_a_doubtful_bass_note_lies_an_octave_nearer_and_moves_nothing_else():
    """D3 is below the mandolin: it is told as D4; all else is where it was heard, in first position."""
    passage = heard(0, told=True)
    low = passage.notes[9]._replace(pitch=50, sure=0.6, others=(62, 54))
    notes = (*passage.notes[:9], low, *passage.notes[10:])
    piece = transcribed(replace(passage, notes=notes), build.PLAYER)
    told = [remark.message for remark in piece.report.remarks if "moved by octaves" in remark.message]
    assert told == ["notes off the neck were moved by octaves: D3 as D4"]
    pitches = [event.pitches for bar in piece.score.measures for event in bar.source if event.pitches]
    assert [each for (each,) in pitches if each != 62] == [
        note.pitch for note in notes if note.pitch not in {50, 62}
    ]
    assert max(note.fret for bar in piece.score.measures for event in bar.events for note in event.notes) <= 7
