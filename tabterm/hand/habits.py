"""Habits of a player: amounts of the terms that weigh nothing until the player's own fingers teach it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.fingering import Hold
    from tabterm.hand.stops import Grip
    from tabterm.hand.terms import Amounts

SMALL_FRETS = 2  #: frets; definition
"""The hand is taken over so many frets at most in a small shift."""

NAMED = {3: "ring", 4: "little"}
"""Fingers that a player may like or spare."""


def holding(grip: Grip, frame: int) -> Amounts:
    """Amounts for the notes of a grip, with the index finger's own place at the fret `frame`."""
    for stop in grip.notes:
        if not stop.finger:
            yield "open", 1.0
        else:
            if stop.finger in NAMED:
                yield NAMED[stop.finger], 1.0
            if stop.fret - frame != stop.finger - 1:
                yield "spread", 1.0


def shifting(one: int, other: int) -> Amounts:
    """Amounts for moving the hand from one frame to another."""
    yield "leave", 1.0
    if abs(other - one) <= SMALL_FRETS:
        yield "step", 1.0


def changing(before: Grip, grip: Grip) -> Amounts:
    """Amounts for one finger that takes notes of two grips in a row."""
    for old in before.notes:
        for stop in grip.notes:
            if stop.finger == old.finger > 0:
                if stop.course == old.course and stop.fret != old.fret:
                    yield "along", 1.0
                elif stop.course != old.course and stop.fret == old.fret:
                    yield "across", 1.0


def of(holds: Sequence[Hold], number: int) -> Amounts:
    """Amounts of every habit at the onset of a number, given the hand at each onset of its phrase."""
    hold = holds[number]
    yield from holding(hold.grip, hold.frame)
    if number:
        before = holds[number - 1]
        yield from changing(before.grip, hold.grip)
        if before.frame != hold.frame:
            yield from shifting(before.frame, hold.frame)
