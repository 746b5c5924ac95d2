"""Pools: the scales and chords that a phrase is made of, and which of them explain it best.

What scales are called and hold is in the table, with its sources. A phrase is explained by the smallest pool on
the tonic or on the root of one of its chords that holds its notes; notes that only lead to others may lie outside.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.harmony.analysis import NoteClass, analyse
from tabterm.harmony.chords import parse_chord
from tabterm.harmony.melody import sounds
from tabterm.harmony.spelling import DEGREES, chord_degree, harmony_in_force, note_name
from tabterm.score.key import MODE_FIFTHS, Key

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.analysis import Standing
    from tabterm.harmony.chords import Chord
    from tabterm.harmony.melody import SoundingNote
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

    Heard = tuple[SoundingNote, Standing]

SCALES: dict[str, str] = {
    "major pentatonic": "1 2 3 5 6",
    "minor pentatonic": "1 b3 4 5 b7",
    "major blues": "1 2 b3 3 5 6",
    "minor blues": "1 b3 4 b5 5 b7",
    "major": "1 2 3 4 5 6 7",
    "mixolydian": "1 2 3 4 5 6 b7",
    "dorian": "1 2 b3 4 5 6 b7",
    "minor": "1 2 b3 4 5 b6 b7",
    "harmonic minor": "1 2 b3 4 5 b6 7",
    "melodic minor": "1 2 b3 4 5 6 7",
    "lydian": "1 2 3 #4 5 6 7",
    "phrygian": "1 b2 b3 4 5 b6 b7",
    "lydian dominant": "1 2 3 #4 5 6 b7",
    "altered": "1 b2 #2 3 b5 #5 b7",
    "phrygian dominant": "1 b2 3 4 5 b6 b7",
    "whole tone": "1 2 3 #4 #5 b7",
    "half-whole diminished": "1 b2 b3 3 #4 5 6 b7",
    "whole-half diminished": "1 2 b3 4 b5 b6 6 7",
    "dominant bebop": "1 2 3 4 5 6 b7 7",
    "mixolydian blues": "1 2 b3 3 4 b5 5 6 b7",
}
"""The degrees of each scale, the plainer one of two that are alike first. Both blues scales after the sources that
`tests/harmony/test_pools.py` names; the others common practice, held to music21 where it has them."""

#: semitones above a root; definition
STEPS = {degree: at for at, degree in enumerate(DEGREES)} | {"#2": 3, "#4": 6, "#5": 8}

#: times its length; common practice, no source
WEIGHTS = {
    NoteClass.PASSING: 0.3,
    NoteClass.APPROACH: 0.3,
    NoteClass.ENCLOSURE: 0.3,
    NoteClass.BLUE: 0.5,
    NoteClass.BLUE_THIRD: 0.5,
}
"""How much a note outside a pool weighs, by what it does; others weigh all."""

#: points; tuned here (tests/harmony/phrases.txt)
OUTSIDE, UNUSED, RARE, ON_CHORD, FAR, OF_CHORDS, AGAINST = 4.0, 0.6, 0.02, 0.12, 0.2, 0.05, 0.3
"""For a pool of which all notes are outside, for one of which no tone is used, for each place down the table, for
one on a chord's root that is not the tonic, for one on the tonic of another mode, for the chord tones, and for a
pool on the root of a chord that has not all tones of that chord: G major over G7."""

STRANGE = {
    False: {"dorian", "minor", "harmonic minor", "melodic minor", "lydian", "phrygian", "lydian dominant"},
    True: {"major pentatonic", "major blues", "major", "mixolydian", "lydian", "lydian dominant"},
}
"""Scales on the tonic that go against its key, by whether that is minor."""

CHORD_POOL = "chord tones"
"""The pool of a phrase that has the tones of its chords and, but for what leads to them, no others."""


class Pool(NamedTuple):
    """A scale or the tones of a chord.

    Attributes:
        name: With its root: `G major pentatonic`, `Am7`.
        root: Pitch class.
        tones: Semitones above the root, upwards.
        degrees: Their names.
        fifths: Its root as it is spelled, in fifths above C.
    """

    name: str
    root: int
    tones: tuple[int, ...]
    degrees: tuple[str, ...]
    fifths: int

    def degree(self, pitch: int) -> str | None:
        """The degree of a pitch, or None where it is outside."""
        interval = (pitch - self.root) % 12
        return self.degrees[self.tones.index(interval)] if interval in self.tones else None

    def pitches(self, lowest: int, highest: int) -> tuple[int, ...]:
        """Every pitch of it from one MIDI note number to another, upwards."""
        return tuple(pitch for pitch in range(lowest, highest + 1) if (pitch - self.root) % 12 in self.tones)


@lru_cache(maxsize=1024)
def scale(name: str, fifths: int) -> Pool:
    """The scale of a name in `SCALES` on a root, which is given in fifths above C."""
    degrees = tuple(SCALES[name].split())
    return Pool(
        f"{note_name(fifths)} {name}", 7 * fifths % 12, tuple(STEPS[each] for each in degrees), degrees, fifths
    )


def chord_pool(symbol: str, chord: Chord) -> Pool:
    """The tones of a chord."""
    tones = tuple(sorted(chord.intervals))
    return Pool(
        symbol, chord.root or 0, tones, tuple(chord_degree(each, chord) for each in tones), chord.root_fifths
    )


def pool_named(text: str) -> Pool:
    """The pool that a player names: `G major pentatonic`, `A minor`, `Am7`.

    Raises:
        ScoreError: No such pool.
    """
    words = text.strip()
    match = re.match(r"([A-Ga-g])([#b♯♭]?)\s+(.+)$", words)
    if match is not None and match[3].lower() in SCALES:
        key = Key.parse(match[1].upper() + match[2].replace("♯", "#").replace("♭", "b"))
        return scale(match[3].lower(), key.tonic_fifths)
    chord = parse_chord(words)
    if chord is None or chord.root is None:
        raise ScoreError(
            f"not a scale or a chord: '{text}'",
            hint=f"write a chord such as Am7, or a note and one of {', '.join(SCALES)}",
        )
    return chord_pool(words, chord)


@dataclass(frozen=True, slots=True)
class Stray:
    """A note outside a pool: where, its name, and what it does."""

    place: Place
    name: str
    kind: NoteClass


@dataclass(frozen=True, slots=True)
class Explanation:
    """A pool that a phrase may be made of.

    Attributes:
        name: Of the pool; `CHORD_POOL` where it is the chords one after the other.
        pool: The pool; None for `CHORD_POOL`.
        share: The part of the time that is in it.
        outside: The notes that are not.
        points: For comparing; less is better.
    """

    name: str
    pool: Pool | None
    share: float
    outside: tuple[Stray, ...]
    points: float


def explanations(score: Score, span: Span) -> tuple[Explanation, ...]:
    """The pools that explain the notes of a span, the best first; none where it is silent."""
    heard = [(each, standing) for each in sounds(score, span) if (standing := standing_of(score, each))]
    if not heard:
        return ()
    found = [_explained(pool, cost, heard) for pool, cost in _candidates(score, span, heard)]
    by_chords = [pair for pair in heard if (chord := harmony_in_force(score, pair[0].place)) and chord.intervals]
    if by_chords:
        inside = [pair for pair in by_chords if _is_chord_tone(score, pair[0])]
        stray = [pair for pair in heard if pair not in inside]
        found.append(_explanation(CHORD_POOL, None, OF_CHORDS, stray, heard))
    return tuple(sorted(found, key=lambda each: each.points))


def standing_of(score: Score, note: SoundingNote) -> Standing | None:
    """What a note is."""
    return next(
        (
            each
            for each in analyse(score, note.place.measure)
            if (each.offset, each.course) == (note.place.offset, note.course)
        ),
        None,
    )


def _is_chord_tone(score: Score, note: SoundingNote) -> bool:
    chord = harmony_in_force(score, note.place)
    return chord is not None and (note.pitch - (chord.root or 0)) % 12 in chord.intervals


def _candidates(score: Score, span: Span, heard: Sequence[Heard]) -> Iterator[tuple[Pool, float]]:
    """Every scale on the tonic and on the chords' roots, with what it costs before any note is asked.

    One on a root has the tones of that chord, a whole one on the tonic those of all chords, or it costs more.
    """
    key = score.keys[span.start.measure]
    roots, minor = {key.tonic_fifths: 0.0}, MODE_FIFTHS[key.mode] < -1
    tones: dict[int, set[int]] = {}
    for note, _ in heard:
        chord = harmony_in_force(score, note.place)
        if chord is not None and chord.root is not None:
            roots.setdefault(chord.root_fifths, ON_CHORD)
            tones.setdefault(chord.root_fifths, set()).update(chord.intervals)
    every_tone = {(tone + 7 * (root - key.tonic_fifths)) % 12 for root, own in tones.items() for tone in own}
    for fifths, cost in roots.items():
        for rank, name in enumerate(SCALES):
            pool = scale(name, fifths)
            needed = tones[fifths] if cost else every_tone if len(pool.tones) == 7 else set[int]()
            against = not needed <= {*pool.tones}
            strange = not cost and name in STRANGE[minor]
            yield pool, cost + RARE * rank + FAR * strange + AGAINST * against


def _explained(pool: Pool, cost: float, heard: Sequence[Heard]) -> Explanation:
    stray = [pair for pair in heard if pool.degree(pair[0].pitch) is None]
    used = {(note.pitch - pool.root) % 12 for note, _ in heard}
    unused = sum(each not in used for each in pool.tones) / len(pool.tones)
    return _explanation(pool.name, pool, cost + UNUSED * unused, stray, heard)


def _explanation(
    name: str, pool: Pool | None, cost: float, stray: Sequence[Heard], heard: Sequence[Heard]
) -> Explanation:
    total = float(sum(note.length for note, _ in heard))
    weight = sum(float(note.length) * WEIGHTS.get(standing.kind, 1.0) for note, standing in stray)
    outside = tuple(Stray(note.place, standing.name, standing.kind) for note, standing in stray)
    share = 1 - float(sum(note.length for note, _ in stray)) / total
    return Explanation(name, pool, share, outside, cost + OUTSIDE * weight / total)
