"""New phrases from a scale or a chord, in a rhythm, along a contour, from a degree to another."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.harmony.craft import OCTAVE
from tabterm.harmony.inventing import DRAWS, along
from tabterm.harmony.lines import CONTOURS, Wish
from tabterm.harmony.phrases import contour
from tabterm.harmony.sketches import Note, with_long_end
from tabterm.score.query import distance

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from random import Random

    from tabterm.harmony.pools import Pool
    from tabterm.harmony.sketches import Sketch, Theme

RHYTHMS = 5  #: rhythms; tuned here
"""So many are tried where the rhythm is left open, each with as many lines."""

LOOSE, STRICT, SPREADS = 5.0, 3.0, {"stays level": 1.2}  #: semitones; tuned here
"""How far a line goes from its contour: where any will do, where one is asked for, and for some of those."""

MORE = 6  #: times; tuned here
"""So many more lines are drawn where one contour is asked for: many turn out another."""


@dataclass(frozen=True)
class Demand:
    """What a phrase from a pool is to be; None and "" leave it open.

    Attributes:
        rhythm: Lengths in quarters, begun again until the phrase is full, and 0 or less for rests; () for that of
            the phrase there, or a usual one of the metre.
        contour: In the words of `CONTOURS`.
        start: A degree of the pool for the first note.
        target: One for the last note; the root or the third of the chord there where it is left open.
    """

    rhythm: tuple[Fraction, ...] = ()
    contour: str = ""
    start: str = ""
    target: str = ""


def new(theme: Theme, random: Random, demand: Demand, rhythms: Sequence[tuple[Fraction, ...]]) -> Iterator[Sketch]:
    """A phrase from the pool of the theme.

    Args:
        theme: Where it goes, and the pool.
        random: Where chance comes from.
        demand: What it is to be.
        rhythms: Usual rhythms of a measure as lengths in quarters, where the demand has none and nothing is there.
    """
    pool = theme.pool
    if pool is None:
        raise ScoreError("a new phrase needs a scale or a chord", hint="such as G major pentatonic")
    if demand.contour and demand.contour not in CONTOURS:
        raise ScoreError(f"no contour '{demand.contour}'", hint=f"one of: {', '.join(CONTOURS)}")
    start, target = _of_degree(pool, demand.start), _of_degree(pool, demand.target)
    shapes = (demand.contour,) if demand.contour else tuple(CONTOURS)[:4]
    lowest, highest = _two_octaves(*theme.compass)
    for _ in range(1 if demand.rhythm or _sounds(theme) else RHYTHMS):
        notes = _rhythm(theme, demand, rhythms, random)
        line = theme.melody(notes)
        pulses, last = line.pulses, line.pulses[-1]
        home = target or last.home & last.scale or last.scale
        spread = SPREADS.get(demand.contour, STRICT) if demand.contour else LOOSE
        wish = Wish(pulses, lowest, highest, (), spread, start=start, target=home, before=line.before)
        for drawn in along(theme, wish, random, shapes, DRAWS * (MORE if demand.contour else 1)):
            if not demand.contour or contour(drawn) == demand.contour:
                yield theme.sketch(notes, drawn)


def _sounds(theme: Theme) -> bool:
    return any(note.pitch is not None for note in theme.notes)


def _two_octaves(lowest: int, highest: int) -> tuple[int, int]:
    """The middle of a compass, where that is wider than two octaves."""
    beyond = max(highest - lowest - 2 * OCTAVE, 0)
    return lowest + beyond // 2, highest - (beyond + 1) // 2


def _of_degree(pool: Pool, degree: str) -> frozenset[int] | None:
    if not degree:
        return None
    if degree not in pool.degrees:
        raise ScoreError(f"{pool.name} has no degree '{degree}'", hint=f"one of: {' '.join(pool.degrees)}")
    return frozenset({(pool.root + pool.tones[pool.degrees.index(degree)]) % 12})


def _rhythm(
    theme: Theme, demand: Demand, rhythms: Sequence[tuple[Fraction, ...]], random: Random
) -> tuple[Note, ...]:
    """Notes without pitches for the time of a theme; the last one is long where the rhythm is a usual one."""
    if not demand.rhythm and _sounds(theme):
        return tuple(note if note.pitch is None else note._replace(pitch=0) for note in theme.notes)
    whole = distance(theme.score, theme.span.start, theme.span.end)
    notes: list[Note] = []
    at = Fraction(0)
    while at < whole:
        for length in demand.rhythm or random.choice(rhythms):
            size = min(abs(length), whole - at)
            if size > 0:
                notes.append(Note(at, size, 0 if length > 0 else None))
                at += size
    if demand.rhythm or not any(note.pitch is not None for note in notes):
        return tuple(notes)
    return with_long_end(theme, notes, theme.span.start)
