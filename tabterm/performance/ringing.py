"""What rings on past its written end, as under a player's hands (common practice, no source).

An open course rings until it is struck again, or until a rest or a damp mark silences all. A stopped note rings
while its finger can stay where it is: until that finger, or the hand, is needed elsewhere. A finger that is needed
leaves the course, a little before; one that only ends its note lets go of the fret and stays on the course.
"""

from __future__ import annotations

from bisect import bisect_left
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from tabterm.performance.model import Release

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.performance.sounds import Sound

FRETS_A_FINGER, FRETS_MORE = 2, 1  #: frets; common practice, no source
"""So many frets lie between neighbouring fingers of a hand that stays, and so many more where it stretches."""

ON_ITS_WAY_S = 0.03  #: s; tuned here
"""So long before it is needed elsewhere a finger leaves, where its note is rung out by then."""

AT_ONCE_S = 0.02  #: s; tuned here
"""A course that is struck again within this time drowns what its finger does."""


class Ending(NamedTuple):
    """When a sound really ends, and what its finger does then."""

    until_s: float
    release: Release = Release.NONE


def endings(sounds: Sequence[Sound], silences: Sequence[float], end_s: float) -> list[Ending]:
    """How each sound really ends.

    Args:
        sounds: On each course in order of their attacks.
        silences: When all is damped, in order.
        end_s: When the music ends.
    """
    following: dict[int, float] = {}
    found = [Ending(sound.end_s) for sound in sounds]
    order = sorted(range(len(sounds)), key=lambda number: sounds[number].start_s)
    in_order = [sounds[number] for number in order]
    for place in reversed(range(len(order))):
        sound = in_order[place]
        struck_s = following.get(sound.course, end_s)
        until_s = min(struck_s, _next(silences, sound.until_s, end_s))
        following[sound.course] = sound.start_s
        ending = Ending(sound.end_s, Release.DAMPS)
        if sound.lets_ring and sound.end_s < until_s:
            ending = _held(sound, islice(in_order, place + 1, None), until_s)
        drowned = not sound.fret or sound.muted or ending.until_s > struck_s - AT_ONCE_S
        found[order[place]] = Ending(ending.until_s) if drowned else ending
    return found


def _next(silences: Sequence[float], from_s: float, end_s: float) -> float:
    at = bisect_left(silences, from_s)
    return silences[at] if at < len(silences) else end_s


def _held(sound: Sound, following: Iterable[Sound], until_s: float) -> Ending:
    """How long a sound is held, at the latest to a moment; an open course needs no finger."""
    if not sound.fret:
        return Ending(until_s)
    if sound.finger is None:
        return Ending(sound.end_s, Release.DAMPS)
    for later in following:
        if later.start_s >= until_s:
            break
        if later.fret and later.start_s >= sound.end_s and not _stays(sound, later):
            return Ending(max(later.start_s - ON_ITS_WAY_S, sound.end_s), Release.LEAVES)
    return Ending(until_s, Release.DAMPS)


def _stays(held: Sound, later: Sound) -> bool:
    """Whether the finger of one note can stay down while another is stopped."""
    if held.finger is None or later.finger is None:
        return False
    fingers, frets = later.finger - held.finger, later.fret - held.fret
    if not fingers:
        return not frets
    return frets * fingers >= 0 and abs(frets) <= FRETS_A_FINGER * abs(fingers) + FRETS_MORE
