"""Printed fiddle tunes put octaves lower, as other instruments would have them, come back as they were printed.

The tunes are those of Ryan's Mammoth Collection (Boston 1883) that music21's corpus ships; see
`tests.hand.fiddle`.
"""

from __future__ import annotations

from itertools import pairwise
from math import ceil

import pytest

pytest.importorskip("music21", reason="music21 is not installed: it ships the collection")

from tabterm.hand.adapt import adapt
from tabterm.hand.adapt.line import line_of, phrased
from tabterm.score.line import Bar, Line, Moment
from tabterm.score.model import Head, Score
from tabterm.score.operations.barring import Barring, Stretch, over_bars
from tabterm.score.report import Kind
from tabterm.score.source import Tone
from tests.build import PLAYER
from tests.hand import fiddle

LOWEST, HIGHEST = 55, 96
"""G3 to C7: a mandolin of 20 frets."""

EVERY = 30


def foreign(tune: fiddle.Tune, semitones: int) -> Line:
    """The tune so many semitones away, as a reader gives it."""
    at, stretches = tune.missing, []
    for printed in tune.notes:
        if printed.pitch is not None:
            notes = (Tone(pitch=printed.pitch + semitones),)
            stretches.append(Stretch(at, printed.length, Moment(duration=fiddle.EIGHTH, notes=notes)))
        at += printed.length
    count = ceil(at / tune.metre.length)
    barring = Barring(Moment, Bar)
    for inside in over_bars(stretches, [tune.metre.length] * count):
        barring.add(inside, tune.metre.length, tune.metre)
    return Line(head=Head(**barring.begins), measures=tuple(barring.measures))


def heard(score: Score) -> list[int]:
    return [moment.top for moment in phrased(line_of(score, own=True)) if moment.notes and not moment.tied]


@pytest.fixture(scope="module")
def tunes():
    return list(fiddle.tunes(EVERY))


def test_there_are_tunes(tunes):
    assert len(tunes) >= 15
    assert sum(note.pitch is not None for tune in tunes for note in tune.notes) > 1500


@pytest.mark.parametrize("octaves", [-2, -1])
def test_a_tune_put_down_comes_back_with_its_contour(tunes, octaves):
    """On the neck, at a singing height, every interval as printed: each tune spans less than the neck."""
    for tune in tunes:
        printed = [note.pitch for note in tune.notes if note.pitch is not None]
        fitted = adapt(foreign(tune, 12 * octaves), PLAYER)
        pitches = heard(fitted.score)
        assert len(pitches) == len(printed), tune.name
        assert all(LOWEST <= pitch <= HIGHEST for pitch in pitches), tune.name
        steps = [other - one for one, other in pairwise(pitches)]
        assert steps == [other - one for one, other in pairwise(printed)], tune.name
        assert not [done for done in fitted.report.remarks if done.kind is Kind.MOVED], tune.name
        assert sum(pitches) / len(pitches) <= 83, tune.name  # B5, the seventh fret of the highest course


def test_a_tune_at_its_own_pitch_stays(tunes):
    for tune in tunes:
        printed = [note.pitch for note in tune.notes if note.pitch is not None]
        assert heard(adapt(foreign(tune, 0), PLAYER).score) == printed, tune.name
