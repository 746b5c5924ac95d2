"""Comping: the chord shapes under a tune, near to each other and below what the tune plays."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from tabterm.harmony.chords import Chord
from tabterm.harmony.voicings import shapes, smoothest

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.voicings import Voicing
    from tabterm.instrument import Instrument
    from tabterm.performance.band import BandMeasure, ChordSpan
    from tabterm.performance.styles import Style
    from tabterm.score.model import Score

LOWEST_OTHER = 40  #: MIDI note; common practice, no source: E2, the lowest open string of a guitar
"""Another instrument than the score's plays an octave lower where that is still in its range."""

NEAR_LOWEST = 2  #: semitones; tuned here
"""Where no shape stays below the tune, those are taken whose top is at most so far above the lowest top."""


def lower_by(score: Score, style: Style) -> int:
    """Semitones by which chords sound lower than their shapes: an octave on another instrument with the range."""
    lowest = min(course.pitch for course in score.head.instrument.courses)
    return 12 if style.chords_program is not None and lowest - 12 >= LOWEST_OTHER else 0


def comping(score: Score, bars: Sequence[BandMeasure]) -> list[list[Voicing | None]]:
    """A shape for each stretch of each bar, by one way through the whole; a chord keeps its shape."""
    instrument = score.head.instrument
    asked = [(bar, each) for bar in bars for each in bar.stretches]
    runs = [list(run) for _, run in groupby(asked, key=_wanted)]
    layers = []
    for run in runs:
        chord, ringing, lower = _wanted(run[0])[0], run[0][0].style.ringing, lower_by(score, run[0][0].style)
        top = min((pitch for bar, each in run for pitch in _tune(score, bar, each)), default=None)
        layers.append(_below(chord, instrument, ringing, None if top is None else top + lower) if chord else ())
    chosen = smoothest(layers, instrument)
    flat = iter([voicing for voicing, run in zip(chosen, runs, strict=True) for _ in run])
    return [[next(flat) for _ in bar.stretches] for bar in bars]


def _wanted(asked: tuple[BandMeasure, ChordSpan]) -> tuple[Chord | None, str]:
    """The tones that are played over a stretch, and the style."""
    bar, stretch = asked
    chord = stretch.chord
    if chord is None or not bar.style.fifths:
        return chord, bar.name
    return Chord(chord.root, (0,) if chord.fifth is None else (0, chord.fifth), chord.bass), bar.name


def _tune(score: Score, bar: BandMeasure, stretch: ChordSpan) -> Iterator[int]:
    """The highest pitch of the tune at each moment of a stretch, MIDI note numbers."""
    for offset, event in score.measures[bar.played.index].timed():
        sounding = [note for note in event.notes if not note.muted]
        if sounding and offset < stretch.high and offset + event.length > stretch.low:
            yield max(score.head.instrument.pitch(note.course, note.fret) for note in sounding)


@lru_cache(maxsize=1024)
def _below(chord: Chord, instrument: Instrument, ringing: bool, top: int | None) -> tuple[Voicing, ...]:
    """The shapes of a chord whose highest note is not above `top`; where there are none, the lowest ones."""
    every = shapes(chord, instrument, ringing=ringing)
    if top is None or not every:
        return every
    tops = [max(pitch for _, pitch in each.notes) for each in every]
    limit = max(top, min(tops) + NEAR_LOWEST) if min(tops) > top else top
    return tuple(each for each, highest in zip(every, tops, strict=True) if highest <= limit)
