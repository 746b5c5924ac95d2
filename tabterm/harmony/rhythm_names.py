"""Rhythms that have a name among players, by the onsets of a measure.

The names and patterns are common practice, no source. A pattern is written as the moments that are struck, in
quarters from the beginning of the measure.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score

#: quarters; common practice, no source
PATTERNS = {
    "Charleston": (4, "0 3/2"),
    "reverse Charleston": (4, "1/2 2"),
    "three against the beat, 3+3+2": (4, "0 3/2 3"),
    "back beats": (4, "1 3"),
    "off-beat eighths": (4, "1/2 3/2 5/2 7/2"),
    "half notes": (4, "0 2"),
    "quarters": (4, "0 1 2 3"),
    "quarters with a pair of eighths": (4, "0 1 2 3 7/2"),
    "long short short": (4, "0 1 3/2 2 3 7/2"),
    "short short long": (4, "0 1/2 1 2 5/2 3"),
    "straight eighths": (4, "0 1/2 1 3/2 2 5/2 3 7/2"),
    "syncopated eighths": (4, "0 1/2 3/2 2 5/2 7/2"),
    "habanera": (2, "0 3/4 1 3/2"),
    "cinquillo": (2, "0 1/2 3/4 5/4 3/2"),
    "syncopated ragtime figure": (2, "0 1/4 3/4 1 5/4 7/4"),
    "gallop": (2, "0 1/2 3/4 1 3/2 7/4"),
    "reverse gallop": (2, "0 1/4 1/2 1 5/4 3/2"),
    "waltz quarters": (3, "0 1 2"),
    "waltz half and quarter": (3, "0 2"),
    "waltz eighths": (3, "0 1/2 1 3/2 2 5/2"),
    "waltz with a dotted quarter": (3, "0 3/2 2"),
    "jig eighths": (-3, "0 1/2 1 3/2 2 5/2"),
    "jig long short": (-3, "0 1 3/2 5/2"),
    "jig long short and three eighths": (-3, "0 1 3/2 2 5/2"),
    "jig three eighths and long short": (-3, "0 1/2 1 3/2 5/2"),
}
"""The length of the measure, negative where its beats divide in three, and the moments that are struck. A pattern
for a half of the measure counts where both halves have it."""

#: parts of a beat; common practice, no source
WITHIN_BEATS = {
    "sixteenths": "0 1/4 1/2 3/4",
    "triplets": "0 1/3 2/3",
    "dotted, long short": "0 3/4",
    "Scotch snap, short long": "0 1/4",
    "shuffle in triplets, long short": "0 2/3",
    "gallop": "0 1/2 3/4",
    "reverse gallop": "0 1/4 1/2",
}
"""Names of what most beats of a measure have."""


USUAL = (
    *("quarters with a pair of eighths", "long short short", "straight eighths"),
    *("waltz half and quarter", "waltz with a dotted quarter", "waltz eighths"),
    *("jig eighths", "jig long short", "jig long short and three eighths"),
)
"""Those that a phrase is made of where none is asked for."""


@lru_cache(maxsize=64)
def _moments(text: str) -> tuple[Fraction, ...]:
    return tuple(map(Fraction, text.split()))


def struck(score: Score, index: int) -> tuple[Fraction, ...]:
    """The moments of a measure at which something begins to sound."""
    measure = score.measures[index]
    return tuple(
        offset for offset, event in measure.timed() if event.notes and not all(note.tied for note in event.notes)
    )


def rhythm_name(onsets: tuple[Fraction, ...], metre: Metre) -> str:
    """The name of a measure's rhythm; "" where it has none."""
    length, compound = metre.length, metre.compound
    for name, (whole, text) in PATTERNS.items():
        if (whole < 0) == compound:
            moments, size = _moments(text), Fraction(abs(whole))
            for times in (1, 2):
                repeated = tuple(at + size * turn for turn in range(times) for at in moments)
                if size * times == length and repeated == onsets:
                    return name
    return "" if compound else _of_beats(onsets, metre)


def _of_beats(onsets: tuple[Fraction, ...], metre: Metre) -> str:
    """What most of the beats have, of those that are divided."""
    beats = [*metre.beats, metre.length]
    inside = [
        tuple((at - start) / (end - start) for at in onsets if start <= at < end) for start, end in pairwise(beats)
    ]
    divided = [each for each in inside if len(each) > 1]
    for name, text in WITHIN_BEATS.items():
        if (
            divided
            and 2 * sum(each == _moments(text) for each in divided) > len(inside)
            and len(set(divided)) == 1
        ):
            return name
    return ""


def lengths_of(name: str, metre: Metre) -> tuple[Fraction, ...]:
    """A rhythm of a measure by its name, as lengths in quarters, below 0 for rests; () where no metre has it."""
    whole, text = PATTERNS.get(name, (0, ""))
    size = Fraction(abs(whole))
    if not whole or (whole < 0) != metre.compound or metre.length not in {size, 2 * size}:
        return ()
    moments = _moments(text)
    sounding = tuple(after - at for at, after in pairwise((*moments, size)))
    once = ((-moments[0],) if moments[0] else ()) + sounding
    return once * int(metre.length / size)


def usual_rhythms(metre: Metre) -> tuple[tuple[Fraction, ...], ...]:
    """What the measures of a metre usually have, as lengths in quarters."""
    found = tuple(lengths for name in USUAL if (lengths := lengths_of(name, metre)))
    beats = tuple(after - at for at, after in pairwise((*metre.beats, metre.length)))
    return found or (beats, tuple(half for beat in beats for half in (beat / 2, beat / 2)))
