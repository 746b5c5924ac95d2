"""The recording to learn with: small, said to be invented, and heard as the tune that it was made of."""

from __future__ import annotations

from difflib import SequenceMatcher
from pathlib import Path

import pytest
import soundfile

import tabterm
from docs import sample_recording as made
from tabterm.piece.proposing import chords_in
from tabterm.piece.transcription import heard, transcribed
from tabterm.recording.timemap import Anchor, Timeline, TimeMap
from tabterm.score.place import Place, Span
from tests import build


@pytest.fixture(scope="module")
def tune():
    return tabterm.open(made.TUNE, player=build.PLAYER).score


def pitches(score):
    return [
        score.head.instrument.pitch(note.course, note.fret)
        for bar in score.measures
        for event in bar.events
        for note in event.notes
        if not note.tied
    ]


def test_it_is_small_and_said_to_be_invented():
    with soundfile.SoundFile(made.RECORDING) as file:
        assert (file.channels, file.format) == (2, "OGG")
        assert file.comment == made.SAID
    assert Path(made.RECORDING).stat().st_size < 500_000


def test_two_measures_tapped_give_the_tune_its_measures_and_the_chords_of_its_band(tune):
    """The first four measures; the taps are the quarters of measures 1 and 2, each 20 ms off."""
    longer, at_s, beats = 2 ** (-made.CENTS / 1200), 0.0, []
    for bar, bpm in zip(tune.measures, made.TEMPOS, strict=True):
        beats += [(at_s + quarter * 60 / bpm) * longer for quarter in range(int(bar.length))]
        at_s += float(bar.length) * 60 / bpm
    taps = [at + (-1) ** index * 0.02 for index, at in enumerate(beats[1:9])]
    passage = heard(made.RECORDING, end_s=beats[17], taps_s=taps)
    assert passage.cents == pytest.approx(made.CENTS, abs=3)
    assert max(min(abs(moment - at) for moment in passage.beats.moments_s) for at in beats[:17]) <= 0.04
    found = transcribed(passage, build.PLAYER).score
    truth = tune.with_(measures=tune.measures[:5])
    assert (found.measures[0].short, len(found.measures)) == (True, 5)
    assert SequenceMatcher(None, pitches(found), pitches(truth)).ratio() > 0.9
    chords = [(index, mark.symbol[0]) for index, bar in enumerate(found.measures) for mark in bar.chords]
    assert chords[0][1] == "D"  # the pickup leads into it
    assert (2, "G") in chords


def test_the_chords_of_the_band_are_heard_over_its_measures(tune):
    """With the bar lines that it was made by, as the editor asks for them: measures 1 to 4."""
    longer, at_s, anchors = 2 ** (-made.CENTS / 1200), 0.0, []
    for index, (bar, bpm) in enumerate(zip(tune.measures, made.TEMPOS, strict=True)):
        anchors.append(Anchor(measure=index, at_s=at_s * longer))
        at_s += float(bar.length) * 60 / bpm
    line = Timeline.of(TimeMap(anchors=tuple(anchors)), tune)
    found = chords_in(Path(made.RECORDING), line, Span.of_measures(1, 4))
    assert found[Place(1)][0] == "D"
    truth = {
        Place(index, mark.offset): mark.symbol[0] for index in range(1, 5) for mark in tune.measures[index].chords
    }
    told = {place: [symbol[0] for at, symbol in found.items() if at <= place][-1] for place in truth}
    assert sum(told[place] == symbol for place, symbol in truth.items()) >= len(truth) - 1, (told, truth)
