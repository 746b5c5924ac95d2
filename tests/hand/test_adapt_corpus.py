"""Printed fiddle tunes put octaves lower, as other instruments would have them, come back as they were printed.

The tunes are those of Ryan's Mammoth Collection (Boston 1883) that music21's corpus ships; see
`tests.hand.fiddle`.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

pytest.importorskip("music21", reason="music21 is not installed: it ships the collection")

from tabterm.formats.neck import on_neck, source_of
from tabterm.hand.adapt import adapt
from tabterm.hand.adapt.line import line_of
from tabterm.score.model import Event, Head, Score
from tabterm.score.operations.timeline import rest_measure, splice
from tabterm.score.place import Place
from tabterm.score.report import Kind
from tests.build import PLAYER
from tests.hand import fiddle

LOWEST, HIGHEST = 55, 96
"""G3 to C7: a mandolin of 20 frets."""

EVERY = 30


def foreign(tune: fiddle.Tune, semitones: int) -> Score:
    """The tune so many semitones away, as a reader gives it."""
    pieces = [(Event(duration=fiddle.EIGHTH), tune.missing)] if tune.missing else []
    written = {}
    for printed in tune.notes:
        event = Event(duration=fiddle.EIGHTH)
        if printed.pitch is not None:
            (note,) = on_neck(Head().instrument, [printed.pitch + semitones])
            event = event.with_(notes=(note,))
            written[note.course, note.fret] = note
        pieces.append((event, printed.length))
    score = splice(Score(head=Head(metre=tune.metre), measures=(rest_measure(tune.metre),)), Place(0), pieces)
    return with_pitches(score, [note.pitch + semitones for note in tune.notes if note.pitch is not None])


def with_pitches(score: Score, pitches: list[int]) -> Score:
    """The score with these pitches as its source, one for each struck event."""
    left, measures, last = list(pitches), [], ()
    for measure in score.measures:
        each = []
        for event in measure.events:
            if event.notes and not event.notes[0].tied:
                last = (left.pop(0),)
            each.append(last if event.notes else ())
        measures.append(measure.with_(source=source_of(measure.events, each)))
    assert not left
    return Score(head=score.head, measures=tuple(measures))


def heard(score: Score) -> list[int]:
    return [moment.top for moment in line_of(score, own=True) if moment.tones and not moment.tied]


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
