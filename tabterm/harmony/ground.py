"""What lies under a phrase that is to be: when its notes begin, over which chord, and which tones fit there."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from tabterm.harmony.chords import parse_chord
from tabterm.harmony.harmonising import proposals
from tabterm.harmony.melody import strength
from tabterm.harmony.pools import explanations, scale
from tabterm.harmony.spelling import harmony_in_force
from tabterm.score.key import mode_tones
from tabterm.score.place import Place
from tabterm.score.query import distance, move_by

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from tabterm.harmony.chords import Chord
    from tabterm.harmony.pools import Pool
    from tabterm.score.key import Key
    from tabterm.score.model import Score
    from tabterm.score.place import Span

STEP = 2  #: semitones; common practice, no source
"""A whole step; the next tone of a scale is a step too, however far it lies."""


class Pulse(NamedTuple):
    """A note that is to be, before it has a pitch.

    Attributes:
        at: Quarters from the start of the phrase.
        length: Quarters.
        strength: Of its moment, as `melody.strength` counts it.
        chord: Pitch classes of root, third, fifth and seventh of the chord that sounds.
        home: Those of its root and its third; of a long note over two chords those that the later triad has.
        scale: Pitch classes that fit here: the pool with the tones of the chord for their neighbours.
        colours: Those of the pool that only lead a half step on, as the flat third of a major blues scale does.
        beat: Quarters of the beat that it lies in.
    """

    at: Fraction
    length: Fraction
    strength: int
    chord: frozenset[int]
    home: frozenset[int]
    scale: frozenset[int]
    colours: frozenset[int]
    beat: Fraction

    def has(self, pitch: int) -> bool:
        """Whether a pitch is a tone of the chord."""
        return pitch % 12 in self.chord

    def fits(self, pitch: int) -> bool:
        """Whether a pitch is of the scale."""
        return pitch % 12 in self.scale

    def steps(self, one: int, other: int) -> int:
        """How many tones of the scale a move goes, downwards below 0; a half or a whole step is one at most."""
        low, high = (one, other) if one < other else (other, one)
        return _steps(self.scale, low, high) * (1 if other > one else -1)


@lru_cache(maxsize=8192)
def _steps(scale: frozenset[int], low: int, high: int) -> int:
    """The tones of a scale behind a pitch, up to another and with it."""
    count = sum(each % 12 in scale for each in range(low + 1, high + 1))
    return min(count, 1) if high - low <= STEP else max(count, 1)


class Under:
    """The chords under a score, and the tones that fit: guessed for every measure where nobody has written one."""

    def __init__(self, score: Score, pool: Pool, *, strictly: bool = False) -> None:
        """Take a score and the pool of the phrase; `strictly` keeps to it whatever the chords have."""
        self._score, self._pool, self._strictly = score, pool, strictly
        self._guessed = (
            ()
            if any(measure.chords for measure in score.measures)
            else tuple(ranked[0].symbol if ranked else "" for ranked in proposals(score))
        )

    def chord(self, place: Place) -> Chord | None:
        """The chord at a place; None where none is known."""
        index = min(place.measure, len(self._score.measures) - 1)
        guessed = self._guessed[index] if self._guessed else ""
        return parse_chord(guessed) if guessed else harmony_in_force(self._score, place)

    def pulse(self, start: Place, place: Place, length: Fraction) -> Pulse:
        """The note to be at a place of a phrase that begins at `start`; past the end the last measure goes on."""
        score = self._score
        last = len(score.measures) - 1
        at = distance(score, start, place)
        here = Place(min(place.measure, last), place.offset)
        _, _, beat = score.metres[here.measure].beat_at(here.offset)
        tones, _, home = self._tones(here)
        if length > beat:
            _, later, then = self._tones(moved(score, here, length - beat / 2))
            home = home & later or then
        fits, colours = self._fitting(tones, score.keys[here.measure])
        own = tones & fits if self._strictly else tones
        return Pulse(
            at,
            length,
            strength(score, here),
            frozenset(own or tones),
            frozenset((home & fits if self._strictly else home) or own or tones),
            fits,
            colours,
            beat,
        )

    def _tones(self, place: Place) -> tuple[set[int], set[int], set[int]]:
        """Root, third, fifth and seventh of the chord at a place, the first three, the first two; the tonic's."""
        chord, key = self.chord(place), self._score.keys[min(place.measure, len(self._score.keys) - 1)]
        if chord is None or chord.root is None or not chord.intervals:
            third = 3 if 3 in mode_tones(key.mode) else 4
            home = {key.tonic, (key.tonic + third) % 12}
            triad = home | {(key.tonic + 7) % 12}
            return triad, triad, home
        named = [{chord.tone(each)} if each else set[int]() for each in (chord.third, chord.fifth, chord.seventh)]
        home = {chord.root} | named[0]
        return home | named[1] | named[2], home | named[1], home

    def _fitting(self, chord: Iterable[int], key: Key) -> tuple[frozenset[int], frozenset[int]]:
        """The pool with the tones of the chord, and what of it only colours.

        A tone of the chord that the key has not comes for its neighbour: G# for G over E7 in A minor.
        """
        pool = {(self._pool.root + each) % 12 for each in self._pool.tones}
        own = {*chord}
        colours = {each for each in pool - own if {(each - 1) % 12, (each + 1) % 12} <= pool}
        tones = pool - colours
        of_key = {(key.tonic + each) % 12 for each in mode_tones(key.mode)}
        for tone in () if self._strictly else own - tones:
            beside = [each for each in ((tone - 1) % 12, (tone + 1) % 12) if each in tones and each not in own]
            tones = {*tones, tone} - {*([] if tone in of_key else beside[:1])}
        return frozenset(tones), frozenset(colours)

    def pulses(self, start: Place, rhythm: Iterable[tuple[Fraction, Fraction]]) -> tuple[Pulse, ...]:
        """The notes to be of a rhythm: moments, in quarters from the start, and lengths."""
        return tuple(self.pulse(start, moved(self._score, start, at), length) for at, length in rhythm)


def moved(score: Score, start: Place, at: Fraction) -> Place:
    """The place a length later; past the end in measures like the last one."""
    place, last = start, len(score.measures)
    end = distance(score, start, Place(last))
    if at < end:
        return move_by(score, place, at)
    beyond, size = at - end, score.metres[-1].length
    return Place(last + int(beyond // size), beyond % size)


def pool_of(score: Score, span: Span) -> Pool:
    """The scale that explains a span best; that of the key where it is silent."""
    found = next((each.pool for each in explanations(score, span) if each.pool is not None), None)
    if found is not None:
        return found
    key = score.keys[min(span.start.measure, len(score.measures) - 1)]
    name = key.mode if key.mode in {"minor", "dorian", "mixolydian", "lydian", "phrygian"} else "major"
    return scale(name, key.tonic_fifths)
