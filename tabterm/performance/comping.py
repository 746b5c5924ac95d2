"""What accompanies a tune: chord shapes below it, a bass of roots, fifths and walks, and where a phrase ends."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from tabterm.harmony.chords import Chord
from tabterm.harmony.voicings import shapes, smoothest
from tabterm.score.kinds import Barline

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.voicings import Voicing
    from tabterm.instrument import Instrument
    from tabterm.performance.band import BandMeasure, ChordSpan
    from tabterm.performance.styles import Style
    from tabterm.score.key import Key
    from tabterm.score.model import Measure, Score


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


PHRASE = 4  #: measures; common practice, no source
"""Where nothing that is written ends a phrase, every fourth measure does."""


def phrase_ends(score: Score) -> frozenset[int]:
    """Indices of the measures that end a phrase for the band: at a bar line, repeat or section, or after four."""
    ends, count = set(), 0
    for index, measure in enumerate(score.measures):
        count += index > 0 or not measure.short
        following = score.measures[index + 1] if index + 1 < len(score.measures) else None
        if count >= PHRASE or _ends(measure, following):
            ends.add(index)
            count = 0
    return frozenset(ends)


def _ends(measure: Measure, following: Measure | None) -> bool:
    """Whether what is written ends a phrase with a measure."""
    if measure.barline is not Barline.SINGLE or measure.repeat_times or following is None:
        return True
    return bool(following.section) or following.repeat_start


LOWEST = 43  #: MIDI note; tuned here: G2, 98 Hz, which small loudspeakers still give
"""G2, an octave above where a bass player has it: a small loudspeaker gives little below 100 Hz."""


class BassLine:
    """A bass line while it is played: what it has said of the chord in force."""

    def __init__(self) -> None:
        self._chord: Chord | None = None
        self._root = self._turn = 0

    def note(self, chord: Chord, sign: str) -> int:
        """MIDI note number of a sign (see `styles`) on a chord; a new chord begins with its root or its bass."""
        if chord != self._chord:
            self._chord, self._root, self._turn = chord, root_of(chord), 0
            sign = "A"
        if sign == "A":
            self._turn += 1
            sign = "R" if self._turn % 2 else "5"
        return {"R": self._root, "5": fifth_of(chord), "3": third_of(chord)}[sign]

    def silence(self) -> None:
        """No chord: what comes is new, even if it came before."""
        self._chord = None


def root_of(chord: Chord) -> int:
    """The root, or the bass that the symbol gives."""
    return _low(chord.bass or 0)


def fifth_of(chord: Chord) -> int:
    """The fifth below the root where the bass has it, else above; over another bass than the root, the root."""
    if chord.bass != chord.root:
        return _low(chord.tone(0))
    fifth = root_of(chord) + (chord.fifth or 0)
    return fifth - 12 if fifth - 12 >= LOWEST and chord.fifth else fifth


def third_of(chord: Chord) -> int:
    """The third, or what it is suspended to, above the root."""
    return _low(chord.tone(0)) + (chord.third or 0)


def _low(pitch_class: int) -> int:
    return LOWEST + (pitch_class - LOWEST) % 12


def walk(start: int, end: int, count: int, key: Key, *, chromatic: bool = True) -> list[int]:
    """`count` notes that lead from one bass note to another, which are not the same; none where there are none.

    They are the steps of the key next to the end, on the side of the start; between a start and an end too close
    for them, semitones; and where the two lie within a whole tone, the start again and what lies between (or, a
    semitone apart, beyond). A semitone before the end, or between two notes a whole tone apart: a usual lesson on
    bass lines (studybass.com, "Chromatic approach notes"). Without `chromatic` no walk has a note that is foreign
    to the key: under a tune that moves it would rub (common practice, no source).
    """
    up = 1 if end > start else -1
    scale = {(7 * (key.fifths - 1 + number)) % 12 for number in range(7)}
    if abs(end - start) <= 2:
        notes = [end - up if abs(end - start) == 2 else end + up, *[start] * (count - 1)]
    else:
        between = range(end - up, start, -up)
        steps = [pitch for pitch in between if pitch % 12 in scale]
        notes = steps if len(steps) >= count else list(between)
        notes += [start] * (count - len(notes))
    allowed = chromatic or all(pitch % 12 in scale or pitch == start for pitch in notes[:count])
    return notes[:count][::-1] if allowed else []
