"""Voicings: the table of chord shapes on a neck, made by rule for any tuning; and a smooth way through them.

A shape takes two to four neighbouring courses, and nothing but tones of the chord: its third and its seventh
before its fifth, and the root or both of them. It lies within the reach of one hand, low on the neck. The band
plays from this table, a line is fitted by it, and `tabterm.hand.shapes` puts a player's fingers on it.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from itertools import combinations, groupby
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.instrument import fret_distance_mm

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.chords import Chord
    from tabterm.instrument import Instrument

#: mm; measured here (python -m tests.hand.violin FOLDER): 95th percentiles of TNUA (Jen et al. 2021), rounded up,
#: those within four fingers with the 6 % by which other sources are wider
REACHES_MM = {(1, 2): 36.5, (2, 3): 32.8, (3, 4): 30.7, (1, 3): 67.8, (2, 4): 60.4, (1, 4): 79.0}
"""How far two fingers that are held down together reach without strain."""

FRETS = 12
"""No shape goes higher than this."""

MOST_NOTES = 4
"""As many as a hand has fingers for."""

KEPT = 8
"""Shapes of a chord among which the way through a progression is looked for."""

#: mm a point; common practice, no source
MOVE_MM = 25.0
"""How far the fingers go on an average from one shape to the next, for a point."""

#: points; tuned here, on the 68 shapes of tests/harmony/usual_shapes.txt; their order: common practice, no source
LEFT_OUT = {
    "root": 1.2,
    "third": 9.0,
    "fifth": 0.3,
    "altered fifth": 3.0,
    "seventh": 6.0,
    "named": 3.0,
    "other": 0.8,
}
"""What a tone costs that a shape does not have."""

#: points; tuned here, like those of LEFT_OUT
LOWEST = {"root": 0.0, "fifth": 0.1, "seventh": 0.3, "third": 0.9, "other": 0.8}
"""What it costs to have a tone at the bottom."""

#: points; tuned here, like those of LEFT_OUT
DOUBLED_THIRD, NOT_STRUCK, STRETCHED, OPEN, OPEN_HIGH = 0.2, 0.8, 0.9, -0.3, 0.5
"""A third that sounds twice, a course that is not struck, the widest reach, an open course in first position, and
one under a hand that is higher."""

FIRST = 5  #: frets; common practice, no source
"""The highest fret of a chord in first position."""

#: mm a point; tuned here, like those of LEFT_OUT
UP_THE_NECK_MM, INDEX_UP_MM = 50.0, 150.0
"""How far up the neck the stopped frets lie on an average, and the lowest of them, for a point."""


class Sort(StrEnum):
    """What kind of shape it is: with open courses, four stopped ones, three of them, two."""

    OPEN = "open"
    CLOSED = "closed"
    THREE = "three-note"
    TWO = "two-note"


@dataclass(frozen=True, slots=True)
class Voicing:
    """A chord shape.

    Attributes:
        frets: Fret of each course, highest course first; None where the course is not struck.
        pitches: MIDI note number of each course, None likewise.
        cost: What it asks and what it leaves out; smaller is better.
    """

    frets: tuple[int | None, ...]
    pitches: tuple[int | None, ...]
    cost: float

    def __str__(self) -> str:
        """As players write it, the lowest course first: `0-0-2-3`, x for a course that is not struck."""
        return "-".join("x" if fret is None else str(fret) for fret in reversed(self.frets))

    @property
    def sort(self) -> Sort:
        """What kind of shape it is."""
        if 0 in self.frets:
            return Sort.OPEN
        return {2: Sort.TWO, 3: Sort.THREE}.get(len(self.notes), Sort.CLOSED)

    @property
    def notes(self) -> tuple[tuple[int, int], ...]:
        """(course, MIDI note number) of what is struck, highest course first."""
        return tuple((course, pitch) for course, pitch in enumerate(self.pitches, 1) if pitch is not None)


@lru_cache(maxsize=512)
def shapes(chord: Chord, instrument: Instrument, *, ringing: bool = False, fewest: int = 3) -> tuple[Voicing, ...]:
    """Every shape of a chord, the best one first; none for `N.C.`, nor where the neck has none.

    Args:
        chord: The chord; its bass is left to the bass.
        instrument: Courses and neck.
        ringing: Open courses may sound. Without them every course is stopped, so that it can be silenced at once.
        fewest: Notes that a shape has at least; where none is within reach, one less.
    """
    if chord.root is None:
        return ()
    for size in range(min(fewest, instrument.course_count), 0, -1):
        found = [
            Voicing(frets, pitches, _cost(chord, instrument, frets, pitches))
            for frets, pitches in _shapes(chord, instrument, size, ringing=ringing)
        ]
        if found:
            return tuple(sorted(found, key=lambda each: (each.cost, str(each.frets))))
    return ()


def smoothest(layers: Sequence[tuple[Voicing, ...]], instrument: Instrument) -> list[Voicing | None]:
    """Of each chord's shapes (best first) the one on the way of least movement and cost through all of them.

    A chord without shapes gets None, and the hand waits where it is.
    """
    mm = _frets_mm(instrument)
    moves: dict[tuple[int, int], list[list[float]]] = {}
    back: list[list[int]] = []  # for each layer with shapes, and each of them, the shape before
    before: tuple[Voicing, ...] = ()
    totals: list[float] = []
    for layer in filter(None, layers):
        if (id(before), id(layer)) not in moves:
            moves[id(before), id(layer)] = [
                [moved_mm(one, other, mm) / MOVE_MM for one in before[:KEPT]] for other in layer[:KEPT]
            ]
        reached = [
            [total + move for total, move in zip(totals, row, strict=True)] for row in moves[id(before), id(layer)]
        ]
        back.append([min(range(len(row)), key=row.__getitem__, default=0) for row in reached])
        totals = [min(row, default=0.0) + each.cost for row, each in zip(reached, layer, strict=False)]
        before = layer
    index = min(range(len(totals)), key=totals.__getitem__, default=0)
    chosen: list[Voicing | None] = []
    for layer in reversed(layers):
        chosen.append(layer[index] if layer else None)
        index = back.pop()[index] if layer else index
    return chosen[::-1]


def _shapes(
    chord: Chord, instrument: Instrument, size: int, *, ringing: bool
) -> Iterator[tuple[tuple[int | None, ...], tuple[int | None, ...]]]:
    """Frets and pitches of `size` or more neighbouring courses that make a chord and that a hand can stop."""
    count, mm = instrument.course_count, _frets_mm(instrument)
    tones = {chord.tone(interval): interval for interval in chord.intervals}
    frets = range(0 if ringing else 1, len(mm))
    on = [[fret for fret in frets if (course.pitch + fret) % 12 in tones] for course in instrument.courses]
    needed = ({chord.third} - {None}) if size > 2 else set()
    for most in range(size, min(MOST_NOTES, count) + 1):
        for first in range(count - most + 1):
            around = ((None,) * first, (None,) * (count - first - most))
            for held in _within_reach(on[first : first + most], mm):
                pitches = tuple(instrument.pitch(first + number, fret) for number, fret in enumerate(held, 1))
                told = {tones[pitch % 12] for pitch in pitches}
                named = 0 in told or (chord.seventh in told and chord.third in told) or size < 3
                enough = len(told) >= min(2, len(tones)) and needed <= told
                if named and enough and len(set(pitches)) == most and _stops(held, mm):
                    yield (*around[0], *held, *around[1]), (*around[0], *pitches, *around[1])


def _within_reach(on: Sequence[Sequence[int]], mm: Sequence[float]) -> list[tuple[int, ...]]:
    """One fret of each course, none farther from another than index and little finger reach."""
    most = REACHES_MM[1, 4]
    held: list[tuple[int, ...]] = [()]
    for frets in on:
        held = [
            (*before, fret)
            for before in held
            for fret in frets
            if not fret or all(not other or abs(mm[fret] - mm[other]) <= most for other in before)
        ]
    return held


def _stops(held: Sequence[int], mm: Sequence[float]) -> bool:
    """Whether fingers reach the frets, the lower one the lower fret.

    With all four down the little finger only has to reach from its neighbour: so the printed chord of G, 7-5-2-3,
    is played (sweetmusicstudio.net, "Mandolin chord chart and suggestions for learning chords").
    """
    stopped = [mm[fret] for fret in _fingers(held)]
    return any(
        all(
            high - low <= REACHES_MM[fingers]
            for fingers, (low, high) in zip(combinations(chosen, 2), combinations(stopped, 2), strict=True)
            if fingers != (2, 4) or len(chosen) < MOST_NOTES
        )
        for chosen in combinations(range(1, MOST_NOTES + 1), len(stopped))
    )


def _fingers(held: Sequence[int]) -> Iterator[int]:
    """The fret of each finger, in order: one takes all courses at its fret between which none is lower or open."""
    for fret in sorted({*held} - {0}):
        for reached, courses in groupby(held, key=fret.__le__):
            if reached and fret in courses:
                yield fret


@lru_cache(maxsize=32)
def _frets_mm(instrument: Instrument) -> tuple[float, ...]:
    """Distance from the nut of every fret that shapes use."""
    frets = range(min(FRETS, instrument.frets) + 1)
    return tuple(fret_distance_mm(instrument.scale_length_mm, fret) for fret in frets)


def _cost(
    chord: Chord, instrument: Instrument, frets: Sequence[int | None], pitches: Sequence[int | None]
) -> float:
    struck = [pitch for pitch in pitches if pitch is not None]
    told = [(pitch - (chord.root or 0)) % 12 for pitch in struck]
    roles = {interval: _role(chord, interval) for interval in chord.intervals}
    mm = sorted(_frets_mm(instrument)[fret] for fret in frets if fret) or [0.0]
    return (
        sum(LEFT_OUT[role] for interval, role in roles.items() if interval not in told)
        + LOWEST.get(roles[told[struck.index(min(struck))]], LOWEST["other"])
        + DOUBLED_THIRD * (told.count(chord.third or 0) > 1 and chord.third is not None)
        + NOT_STRUCK * max(MOST_NOTES - len(struck), 0)
        + (OPEN if max(fret or 0 for fret in frets) <= FIRST else OPEN_HIGH) * frets.count(0)
        + STRETCHED * ((mm[-1] - mm[0]) / REACHES_MM[1, 4]) ** 2
        + sum(mm) / len(mm) / UP_THE_NECK_MM
        + mm[0] / INDEX_UP_MM
    )


def _role(chord: Chord, interval: int) -> str:
    """What an interval is in a chord, as the tables of costs name it."""
    if interval == 0:
        return "root"
    if interval == chord.third:
        return "third"
    if interval == chord.fifth:
        return "fifth" if interval == 7 else "altered fifth"
    if interval == chord.seventh:
        return "seventh"
    return "named" if interval == chord.intervals[-1] else "other"


def moved_mm(one: Voicing, other: Voicing, mm: Sequence[float]) -> float:
    """How far the fingers go from one shape to another, on the average of the courses that both stop."""
    pairs = [(mm[a], mm[b]) for a, b in zip(one.frets, other.frets, strict=True) if a and b]
    return sum(abs(a - b) for a, b in pairs) / len(pairs) if pairs else 0.0
