"""Shapes: the table of chord shapes on a neck, as a player's hand holds them.

The shapes are those of `tabterm.harmony.voicings`, made by rule for any tuning. Here each gets the fingers that
the hand's search finds easiest, and those that a hand cannot hold without strain are left out. Fitting a chord,
putting one back and another shape of a chord that is hard to hold all choose from this table.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.bands import is_strained
from tabterm.hand.grips import FINGERS, ways_to_hold
from tabterm.harmony.chords import QUALITIES, Chord
from tabterm.harmony.voicings import shapes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tabterm.hand.neck import Neck
    from tabterm.hand.stops import Grip
    from tabterm.harmony.voicings import Voicing

Places = tuple[tuple[int, int], ...]
"""A course and fret for each note, the highest course first."""

#: points a note, points; tuned here
REVOICED, AS_WRITTEN = 0.3, -2.0
"""What it costs to play a note of a chord in another octave than it is written, and to play all as written."""

#: mm a point; tuned here: as much as a shape costs for lying so far up the neck
FAR_MM = 50.0
"""How far a shape lies along the neck from where the hand was, for a point."""


@dataclass(frozen=True, slots=True)
class Held:
    """Courses and frets under a hand.

    Attributes:
        places: The highest course first.
        fingers: For each of them, 0 for an open course.
        points: Of holding them (see `tabterm.hand.effort`).
    """

    places: Places
    fingers: tuple[int, ...]
    points: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A chord shape and how it is held."""

    voicing: Voicing
    held: Held

    @property
    def pitches(self) -> tuple[int, ...]:
        """MIDI note numbers, those of the highest course first."""
        return tuple(pitch for _, pitch in self.voicing.notes)


@lru_cache(maxsize=8192)
def held(neck: Neck, places: Places) -> Held | None:
    """The easiest way to hold courses and frets together without strain; None where no hand can."""
    ways = sorted(ways_to_hold(neck, places), key=lambda way: way[0])
    for points, grip in ways:
        if not _is_strained(neck, grip):
            return Held(places, tuple(stop.finger for stop in grip.notes), points)
    return None


def _is_strained(neck: Neck, grip: Grip) -> bool:
    """Whether two fingers are too far apart; with all four down the little finger only has to reach the ring's."""
    down = sorted({(stop.finger, neck.mm(stop.fret)) for stop in grip.down})
    return any(
        is_strained((low, high), high_mm - low_mm, neck.hand.span_mm)
        for (low, low_mm), (high, high_mm) in combinations(down, 2)
        if low != high and ((low, high) != (2, 4) or len(down) < len(FINGERS))
    )


@lru_cache(maxsize=256)
def table(neck: Neck, chord: Chord) -> tuple[Shape, ...]:
    """Every shape of a chord of two notes or more that the player can hold, the best first."""
    return tuple(_held_ones(neck, shapes(chord, neck.instrument, ringing=True, fewest=2)))


def _held_ones(neck: Neck, voicings: Iterable[Voicing]) -> Iterator[Shape]:
    for voicing in voicings:
        places = tuple((course, voicing.frets[course - 1] or 0) for course, _ in voicing.notes)
        found = held(neck, places)
        if found is not None:
            yield Shape(voicing, found)


def nearest(
    neck: Neck,
    pitches: Iterable[int],
    chord: Chord | None = None,
    *,
    kept: Places = (),
    at_mm: float | None = None,
) -> Iterator[Shape]:
    """Shapes for the notes of a chord with its highest note on top, the nearest and best first.

    A shape has no more notes, and none but their tones, though any of them in another octave.

    Args:
        neck: The neck and the hand.
        pitches: MIDI note numbers as they are written.
        chord: The chord in force, where there is one: it tells the third and the seventh.
        kept: Courses and frets that the shape has to have.
        at_mm: Where along the neck the hand is, from the nut; None: it may be anywhere.
    """
    written = sorted(pitches)
    found = [
        voicing
        for voicing in shapes(tones_of(written, chord), neck.instrument, ringing=True, fewest=2)
        if len(voicing.notes) <= len(written)
        and voicing.notes[0][1] == written[-1] == _top(voicing)
        and all(voicing.frets[course - 1] == fret for course, fret in kept)
    ]

    def points(voicing: Voicing) -> float:
        stopped = [neck.mm(fret) for fret in voicing.frets if fret]
        away = abs(sum(stopped) / len(stopped) - at_mm) / FAR_MM if stopped and at_mm is not None else 0.0
        moved = sum(pitch not in written for _, pitch in voicing.notes)
        same = not moved and len(voicing.notes) == len(written)
        return voicing.cost + away + REVOICED * moved + AS_WRITTEN * same

    return _held_ones(neck, sorted(found, key=points))


def _top(voicing: Voicing) -> int:
    return max(pitch for _, pitch in voicing.notes)


def tones_of(pitches: Iterable[int], chord: Chord | None = None) -> Chord:
    """The chord that pitches make: their own tones over a root, that of the chord in force where it fits.

    What gives the quality its name comes last, as in `QUALITIES`.
    """
    written = set(pitches)
    root = root_of(written, chord)
    base = min(written) % 12 if root is None else root
    told = {(pitch - base) % 12 for pitch in written}
    named = chord.intervals if chord is not None and root == chord.root else _quality(told)
    return Chord(base, (*sorted(told - set(named)), *(each for each in named if each in told)), base)


def _quality(told: set[int]) -> tuple[int, ...]:
    """The intervals of the quality that intervals fill best; none where no quality has them all."""
    return min((each for each in QUALITIES.values() if told <= set(each)), key=len, default=())


def root_of(pitches: Iterable[int], chord: Chord | None = None) -> int | None:
    """The pitch class that a chord stands on: of the one in force, or else of a quality that has all the notes.

    Of several readings the one goes first that the notes fill best, then the one with the lowest note as root;
    None where no known quality has them.
    """
    pitches = tuple(pitches)
    classes = {pitch % 12 for pitch in pitches}
    if chord is not None and chord.root is not None and classes & {(chord.root + 4) % 12, (chord.root + 3) % 12}:
        return chord.root
    bass = min(pitches) % 12
    readings = [
        (len(intervals) - len(classes), root != bass, root)
        for root in classes
        for intervals in QUALITIES.values()
        if {(each - root) % 12 for each in classes} <= set(intervals) and len(classes) > 1
    ]
    return min(readings)[2] if readings else None
