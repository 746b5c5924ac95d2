"""Chords of another instrument as double stops that a hand can hold and one stroke can sound."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise, product
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.effort import Written
from tabterm.hand.grips import HIGHEST_MOVED, Demand, Wanted, layer_of
from tabterm.harmony.chords import QUALITIES, parse_chord

if TYPE_CHECKING:
    from tabterm.hand.neck import Neck
    from tabterm.hand.terms import Weights

Shape = tuple[tuple[int, int], ...]
"""A course and fret for each note, the highest course first."""

PLAYABLE = 4.0
"""Points of holding a shape, up to which it is taken: a closed chop chord over all four courses takes 3.6 (common
practice, no source)."""

MOST_NOTES = 4

THIRDS, SEVENTHS = (3, 4), (10, 11)
NAMES = {3: "third", 4: "third", 10: "seventh", 11: "seventh", 0: "root", 7: "fifth"}


class Thinned(NamedTuple):
    """What is left of a chord.

    Attributes:
        kept: Pitches that are played, the highest first.
        dropped: Pitches that are not, and what each is in the chord ("" where that is not known).
    """

    kept: tuple[int, ...]
    dropped: tuple[tuple[int, str], ...]


def thinned(neck: Neck, weights: Weights, pitches: tuple[int, ...], symbol: str | None = None) -> Thinned:
    """The notes of a chord that can be played together.

    The melody, which is the highest, is kept; then the third and the seventh of the chord, then its root, then
    the others from the highest: each as long as one shape on neighbouring courses has it and all before it.

    Args:
        neck: The neck and the hand.
        weights: What the hand finds hard.
        pitches: MIDI note numbers, the highest first; the highest is on the neck.
        symbol: The chord symbol in force, where there is one.
    """
    melody, *others = pitches
    root = root_of(pitches, symbol)
    kept = [melody]
    for pitch in sorted(others, key=lambda each: (_rank(each, root), -each)):
        wanted = tuple(sorted({*kept, pitch}, reverse=True))
        if len(wanted) <= MOST_NOTES and shape(neck, weights, wanted) is not None:
            kept.append(pitch)
    return Thinned(
        tuple(sorted(kept, reverse=True)),
        tuple((pitch, _name(pitch, root)) for pitch in others if pitch not in kept),
    )


def _rank(pitch: int, root: int | None) -> int:
    """Which notes go first: third, seventh, root, the others."""
    interval = None if root is None else (pitch - root) % 12
    if interval in THIRDS:
        return 0
    return 1 if interval in SEVENTHS else 2 if interval == 0 else 3


def _name(pitch: int, root: int | None) -> str:
    return "" if root is None else NAMES.get((pitch - root) % 12, "")


def root_of(pitches: tuple[int, ...], symbol: str | None = None) -> int | None:
    """The pitch class that a chord stands on: of the symbol, or else of a quality that the notes are part of.

    Of several readings the one goes first that the notes fill best, then the one with the lowest note as root;
    None where no known quality has them.
    """
    classes = {pitch % 12 for pitch in pitches}
    chord = parse_chord(symbol) if symbol else None
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


@lru_cache(maxsize=4096)
def shape(
    neck: Neck, weights: Weights, pitches: tuple[int, ...], held: tuple[tuple[int, int] | None, ...] = ()
) -> Shape | None:
    """The easiest shape on neighbouring courses, the highest pitch on the highest; None beyond a hand.

    `held` gives the course and fret that a pitch has to keep, or None, for each of them.
    """
    places = [
        [place for place in neck.instrument.places_of(pitch) if place[1] <= HIGHEST_MOVED] for pitch in pitches
    ]
    for number, place in enumerate(held):
        places[number] = [place] if place is not None else places[number]
    best: tuple[float, Shape] | None = None
    for chosen in product(*places):
        if all(lower[0] - higher[0] == 1 for higher, lower in pairwise(chosen)):
            points = _points(neck, weights, chosen)
            if points <= PLAYABLE and (best is None or points < best[0]):
                best = points, chosen
    return best and best[1]


def _points(neck: Neck, weights: Weights, chosen: Shape) -> float:
    """Points of holding a shape in its best frame."""
    wanted = tuple(Wanted((place,), None, Written(*place)) for place in chosen)
    layer = layer_of(neck, weights, Demand(wanted, (), (None,) * len(chosen)))
    return min(layer.points)
