"""Chords of another instrument as double stops that a hand can hold and one stroke can sound."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise, product
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.grips import HIGHEST_MOVED, ways_to_hold
from tabterm.hand.shapes import root_of

if TYPE_CHECKING:
    from tabterm.hand.neck import Neck
    from tabterm.harmony.chords import Chord

Shape = tuple[tuple[int, int], ...]
"""A course and fret for each note, the highest course first."""

PLAYABLE = 4.0  #: points; tuned here: a closed chop chord over all four courses takes 3.6
"""Points of holding a shape, up to which it is taken: a closed chop chord over all four courses takes 3.6."""

MOST_NOTES = 4  #: notes; definition: one a course
MOST_LOOKED_AT = 6  #: notes; implementation limit
"""Notes under the melody; of more, those are left out at once that matter least."""

THIRDS, SEVENTHS = (3, 4), (10, 11)  #: semitones; definition: minor and major third, minor and major seventh
#: semitones; definition: intervals above the root
NAMES = {3: "third", 4: "third", 10: "seventh", 11: "seventh", 0: "root", 7: "fifth"}


class Thinned(NamedTuple):
    """What is left of a chord.

    Attributes:
        kept: Pitches that are played, the highest first.
        dropped: Pitches that are not, and what each is in the chord ("" where that is not known).
    """

    kept: tuple[int, ...]
    dropped: tuple[tuple[int, str], ...]


def thinned(neck: Neck, pitches: tuple[int, ...], chord: Chord | None = None) -> Thinned:
    """The notes of a chord that can be played together, in one shape on neighbouring courses.

    The melody, which is the highest, is kept; then whatever shape has the third of the chord goes first, of those
    one that has the seventh, then the root, then the others from the highest down.

    Args:
        neck: The neck and the hand.
        pitches: MIDI note numbers, the highest first; the highest is on the neck.
        chord: The chord in force, where there is one.
    """
    melody, *others = pitches
    root = root_of(pitches, chord)
    wanted = sorted(others, key=lambda each: (_rank(each, root), -each))[:MOST_LOOKED_AT]
    for choice in product((True, False), repeat=len(wanted)):
        kept = (melody, *sorted((pitch for pitch, keep in zip(wanted, choice, strict=True) if keep), reverse=True))
        if len(kept) == 1 or (len(kept) <= MOST_NOTES and shape(neck, kept) is not None):
            break
    return Thinned(kept, tuple((pitch, _name(pitch, root)) for pitch in others if pitch not in kept))


def _rank(pitch: int, root: int | None) -> int:
    """Which notes go first: third, seventh, root, the others."""
    interval = None if root is None else (pitch - root) % 12
    if interval in THIRDS:
        return 0
    return 1 if interval in SEVENTHS else 2 if interval == 0 else 3


def _name(pitch: int, root: int | None) -> str:
    return "" if root is None else NAMES.get((pitch - root) % 12, "")


@lru_cache(maxsize=4096)
def shape(neck: Neck, pitches: tuple[int, ...], held: tuple[tuple[int, int] | None, ...] = ()) -> Shape | None:
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
        if all(lower[0] - higher[0] == 1 for higher, lower in pairwise(chosen)) and _within_reach(neck, chosen):
            points = min((each for each, _ in ways_to_hold(neck, chosen)), default=PLAYABLE + 1.0)
            if points <= PLAYABLE and (best is None or points < best[0]):
                best = points, chosen
    return best and best[1]


def _within_reach(neck: Neck, chosen: Shape) -> bool:
    """Whether index and little finger span a shape at all; most do not, and need no closer look."""
    stopped = [neck.mm(fret) for _, fret in chosen if fret]
    return not stopped or neck.pair(1, 4, max(stopped) - min(stopped)) - 1.0 <= PLAYABLE
