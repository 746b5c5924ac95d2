"""Spelling a stretch of time as note values that show the beat."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.score.duration import SHORTEST, Duration, Tuplet

if TYPE_CHECKING:
    from tabterm.score.metre import Metre

_PLAIN = tuple(
    Duration(value, dots)
    for value in (1, 2, 4, 8, 16, 32, 64, 128, 256)
    for dots in (2, 1, 0)
    if value << dots <= SHORTEST
)
_BY_LENGTH = {duration.length: duration for duration in reversed(_PLAIN) if duration.dots < 2}
_LONGEST_FIRST = sorted(_BY_LENGTH, reverse=True)


@lru_cache(maxsize=4096)
def spell(offset: Fraction, length: Fraction, metre: Metre) -> tuple[Duration, ...]:
    """Durations that fill `length` quarters from `offset` in a measure; their lengths add up exactly.

    One value is used where a player expects one: from a beat, over whole beats, or inside one beat. Otherwise
    the stretch is cut at the next beat. Where the place or the length is not on a binary grid, the part up to
    the next beat is written in a tuplet of the odd number found.
    """
    written: list[Duration] = []
    end = offset + length
    while offset < end:
        part = _first_part(offset, end, metre)
        written.extend(_plain(part) if _is_binary(offset) and _is_binary(part) else _tuplet(offset, part))
        offset += part
    return tuple(written)


def _first_part(offset: Fraction, end: Fraction, metre: Metre) -> Fraction:
    """Length of the first piece to be written by itself."""
    _, start, size = metre.beat_at(offset)
    to_next_beat = start + size - offset
    whole = end - offset
    if whole <= to_next_beat or to_next_beat <= 0:
        return whole
    if not (_is_binary(offset) and _is_binary(end)):
        return to_next_beat
    on_beat = offset == start
    if on_beat and whole in _BY_LENGTH and (whole % size == 0 or offset == 0):
        return whole
    if on_beat:
        beats = whole // size
        while beats > 1 and beats * size not in _BY_LENGTH:
            beats -= 1
        return beats * size if beats * size in _BY_LENGTH else to_next_beat
    return to_next_beat


def _is_binary(number: Fraction) -> bool:
    return number.denominator & (number.denominator - 1) == 0 and number.denominator <= SHORTEST // 4


def _plain(length: Fraction) -> list[Duration]:
    """Longest values first; what is left after a long value comes behind it."""
    written = []
    for size in _LONGEST_FIRST:
        while size <= length:
            written.append(_BY_LENGTH[size])
            length -= size
    return written


def _tuplet(offset: Fraction, length: Fraction) -> list[Duration]:
    odd = 1
    for number in (offset, length):
        part = number.denominator
        while part % 2 == 0:
            part //= 2
        odd = odd * part // _common(odd, part)
    if odd == 1:
        return _beyond_grid(length)
    normal = 1 << (odd.bit_length() - 1)
    tuplet = Tuplet(odd, normal)
    written = length * odd / normal
    if not _is_binary(written):
        return _beyond_grid(length)
    return [duration.in_tuplet(tuplet) for duration in _plain(written)]


def _beyond_grid(length: Fraction) -> list[Duration]:
    """A length finer than the shortest value: that value in a tuplet of the length's own ratio."""
    ratio = length / Fraction(4, SHORTEST)
    return [Duration(SHORTEST, 0, Tuplet(ratio.denominator, ratio.numerator))]


def _common(one: int, other: int) -> int:
    while other:
        one, other = other, one % other
    return one
