"""What rings on past its written end, as under a player's hands (common practice, no source).

An open course rings until it is struck again, or until a rest or a damp mark silences all. A stopped note rings
while its finger can stay where it is: until that finger, or the hand, is needed elsewhere.
"""

from __future__ import annotations

from bisect import bisect_left
from itertools import islice
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.performance.sounds import Sound

FRETS_A_FINGER, FRETS_MORE = 2, 1  #: frets; common practice, no source
"""So many frets lie between neighbouring fingers of a hand that stays, and so many more where it stretches."""


def ends_of(sounds: Sequence[Sound], silences: Sequence[float], end_s: float) -> list[float]:
    """When each sound really ends.

    Args:
        sounds: On each course in order of their attacks.
        silences: When all is damped, in order.
        end_s: When the music ends.
    """
    following: dict[int, float] = {}
    ends = [sound.end_s for sound in sounds]
    order = sorted(range(len(sounds)), key=lambda number: sounds[number].start_s)
    in_order = [sounds[number] for number in order]
    for place in reversed(range(len(order))):
        sound = in_order[place]
        until_s = min(following.get(sound.course, end_s), _next(silences, sound.until_s, end_s))
        following[sound.course] = sound.start_s
        if sound.lets_ring and sound.end_s < until_s:
            ends[order[place]] = (
                until_s if sound.fret == 0 else _held(sound, islice(in_order, place + 1, None), until_s)
            )
    return ends


def _next(silences: Sequence[float], from_s: float, end_s: float) -> float:
    at = bisect_left(silences, from_s)
    return silences[at] if at < len(silences) else end_s


def _held(sound: Sound, following: Iterable[Sound], until_s: float) -> float:
    """When the finger of a stopped note has to leave, at the latest at a moment."""
    for later in following:
        if later.start_s >= until_s:
            break
        if later.fret and later.start_s >= sound.end_s and not _stays(sound, later):
            return later.start_s
    return until_s if sound.finger else sound.end_s


def _stays(held: Sound, later: Sound) -> bool:
    """Whether the finger of one note can stay down while another is stopped."""
    if held.finger is None or later.finger is None:
        return False
    fingers, frets = later.finger - held.finger, later.fret - held.fret
    if not fingers:
        return not frets
    return frets * fingers >= 0 and abs(frets) <= FRETS_A_FINGER * abs(fingers) + FRETS_MORE
