"""Spelling a stretch of time as note values that show the beat."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.duration import LARGEST_RATIO, SHORTEST, Duration, Tuplet

if TYPE_CHECKING:
    from tabterm.score.metre import Metre

_FINEST = Fraction(4, SHORTEST)
"""Length of the shortest value, in quarters."""

_BY_LENGTH = {
    duration.length: duration
    for duration in (
        Duration(value, dots)
        for value in (1, 2, 4, 8, 16, 32, 64, 128, 256)
        for dots in (1, 0)
        if value << dots <= SHORTEST
    )
}
_LONGEST_FIRST = sorted(_BY_LENGTH, reverse=True)


@lru_cache(maxsize=4096)
def spell(offset: Fraction, length: Fraction, metre: Metre) -> tuple[Duration, ...]:
    """Durations that fill `length` quarters from `offset` in a measure; their lengths add up exactly.

    One value is written inside one beat, over whole beats from a beat on, and for a beat and a half. Other
    stretches are cut at the beats. What does not lie on a binary grid is written in a tuplet of the odd
    number found, and only up to the next beat.

    Raises:
        ScoreError: The stretch is too fine for any duration.
    """
    written: list[Duration] = []
    end = offset + length
    while offset < end:
        stop = _stop(offset, end, metre)
        written.extend(_values(offset, stop, metre))
        offset = stop
    return tuple(written)


def _stop(offset: Fraction, end: Fraction, metre: Metre) -> Fraction:
    """Where the piece that starts at `offset` ends."""
    _, start, size = metre.beat_at(offset)
    next_beat = start + size
    if end <= next_beat or next_beat <= offset:
        return end
    if offset != start:
        return next_beat
    if end - offset == size * 3 / 2 and size.numerator & (size.numerator - 1) == 0:
        return end
    beats = (*metre.beats, metre.length)
    return max((beat for beat in beats if offset < beat <= end and beat - offset in _BY_LENGTH), default=next_beat)


def _values(offset: Fraction, stop: Fraction, metre: Metre) -> list[Duration]:
    """Plain values where both ends lie on the binary grid, otherwise values in a tuplet."""
    length = stop - offset
    if on_grid(offset) and on_grid(length):
        values = _plain(length)
        runs_up_to_beat = stop in metre.beats and offset not in metre.beats
        return values[::-1] if runs_up_to_beat else values
    odd = lcm(_odd_part(offset.denominator), _odd_part(length.denominator))
    normal = 1 << (odd.bit_length() - 1)
    while normal > 1 and not on_grid(length * odd / normal):
        normal //= 2
    inside = length * odd / normal
    if odd == 1 or odd > LARGEST_RATIO or not on_grid(inside):
        return [_beyond_grid(length)]
    return [duration.in_tuplet(Tuplet(odd, normal)) for duration in _plain(inside)]


def plain_value(length: Fraction) -> Duration | None:
    """The one value, at most dotted once, that lasts so long; None where there is none."""
    return _BY_LENGTH.get(length)


def on_grid(number: Fraction) -> bool:
    """Whether a number of quarters is a multiple of the shortest value."""
    return (number / _FINEST).denominator == 1


def _odd_part(number: int) -> int:
    while number % 2 == 0:
        number //= 2
    return number


def _plain(length: Fraction) -> list[Duration]:
    """Values for a length on the grid, longest first."""
    written = []
    for size in _LONGEST_FIRST:
        while size <= length:
            written.append(_BY_LENGTH[size])
            length -= size
    return written


def _beyond_grid(length: Fraction) -> Duration:
    """A length finer than the grid: the shortest value in a tuplet of the length's own ratio."""
    ratio = length / _FINEST
    if max(ratio.numerator, ratio.denominator) > LARGEST_RATIO:
        raise ScoreError("the time left here is too short to write", hint="use simpler tuplets")
    return Duration(SHORTEST, 0, Tuplet(ratio.denominator, ratio.numerator))
