"""Chords of another instrument as shapes that a hand can hold and one stroke can sound."""

from __future__ import annotations

from itertools import pairwise, product
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.grips import HIGHEST_MOVED
from tabterm.hand.shapes import Places, held, nearest, tones_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.hand.neck import Neck
    from tabterm.harmony.chords import Chord
    from tabterm.instrument import Instrument

#: semitones; definition: intervals above the root
NAMES = {3: "third", 4: "third", 10: "seventh", 11: "seventh", 0: "root", 7: "fifth"}


class Fitted(NamedTuple):
    """A chord on the neck.

    Attributes:
        places: A course and fret for each note, the highest course first.
        pitches: Their pitches.
        lost: Pitches whose tone no note has, in any octave, and what each is in the chord ("" where that is not
            known).
    """

    places: Places
    pitches: tuple[int, ...]
    lost: tuple[tuple[int, str], ...]


def fitted(
    neck: Neck,
    pitches: Sequence[int],
    chord: Chord | None = None,
    *,
    kept: Places = (),
    at_mm: float | None = None,
) -> Fitted:
    """The notes of a chord on neighbouring courses, the melody, which is the highest, on the highest of them.

    Two notes stay at their pitches where a hand has them. Of more the nearest good shape is taken, whose tones may
    be in other octaves: each once where that can be, the third and the seventh before the others, the root low.

    Args:
        neck: The neck and the hand.
        pitches: MIDI note numbers, the highest first; the highest is on the neck.
        chord: The chord in force, where there is one.
        kept: Courses and frets that notes have to keep, since they are tied; where no shape has them, any.
        at_mm: Where along the neck the hand is; None: it may be anywhere.
    """
    alone = (neck.instrument.places_of(pitches[0])[0],)
    places = next(_ways(neck, pitches, chord, kept, at_mm), alone)
    sounding = tuple(neck.instrument.pitch(*place) for place in places)
    classes = {pitch % 12 for pitch in sounding}
    root = tones_of(pitches, chord).root
    lost = {pitch % 12: pitch for pitch in reversed(pitches) if pitch % 12 not in classes}
    return Fitted(places, sounding, tuple((pitch, _name(pitch, root)) for pitch in lost.values()))


def _ways(
    neck: Neck, pitches: Sequence[int], chord: Chord | None, kept: Places, at_mm: float | None
) -> Iterator[Places]:
    if len(pitches) == 1:
        yield from ((place,) for place in kept)
        return
    if len(pitches) == 2:
        yield from filter(None, (together(neck, pitches, kept), together(neck, pitches)))
    for places in (kept, ()):
        for shape in nearest(neck, pitches, chord, kept=places, at_mm=at_mm):
            yield shape.held.places


def _name(pitch: int, root: int | None) -> str:
    return "" if root is None else NAMES.get((pitch - root) % 12, "")


def frets_words(instrument: Instrument, places: Places) -> str:
    """A shape as players write it: `0-0-2-3`, frets from the lowest course up, x for one that is not struck."""
    frets = dict(places)
    return "-".join(str(frets.get(course, "x")) for course in range(instrument.course_count, 0, -1))


def together(neck: Neck, pitches: Sequence[int], kept: Places = ()) -> Places | None:
    """The easiest way to have pitches on neighbouring courses, the highest on the highest; None beyond a hand.

    `kept` are courses and frets that it has to have.
    """
    places = [
        [place for place in neck.instrument.places_of(pitch) if place[1] <= HIGHEST_MOVED] for pitch in pitches
    ]
    neighbours = (
        each
        for each in product(*places)
        if all(low[0] - high[0] == 1 for high, low in pairwise(each)) and set(kept) <= set(each)
    )
    ways = [way for each in neighbours if (way := held(neck, each)) is not None]
    return min(ways, key=lambda way: way.points).places if ways else None
