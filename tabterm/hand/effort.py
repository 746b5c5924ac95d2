"""What it takes to hold a grip, and to change from one to the next: amounts of the terms of `hand.terms`."""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING

from tabterm.hand import habits
from tabterm.hand.bands import is_strained
from tabterm.hand.neck import BREADTH_MM
from tabterm.hand.right_hand import course_change
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from tabterm.hand.neck import Neck
    from tabterm.hand.stops import Grip, Stop, Transition, Written
    from tabterm.hand.terms import Amounts

BESIDE = 0.25  #: fingers' breadths; tuned here
"""Crowding of two fingers at one fret on different courses; the lower finger lies better on the lower-pitched one
(ten violinists keep one finger in 1,621 of 1,756 such pairs: counted in TNUA, Jen et al. 2021)."""

STEP = 0.6  #: points; tuned here
"""What a reach takes as soon as it is a finding."""

#: times a jump; tuned here: 1 at first, 0.8 since
NEXT_FRET = 0.8
"""A finger's jump to the next fret: each has two of its own in first position (D. Grisman, "Position Studies")."""

IN_TURN_S = 0.16  #: s; common practice, no source: sixteenths at 1/4=94 and faster
"""Fingers that go to and fro with less time than this between two notes are judged as held together."""

LEAST_S, MOST_S = 0.02, 0.4  #: s; tuned here
"""Times for a shift below and above which they make no more difference to its effort."""

SHIFT_S = 0.1  #: s; definition: where the logarithm is 0
"""With so much time a shift costs what `shift` says; with less more, with more less."""

MOST_HURRY = 5.0  #: times; tuned here
"""How many times too little the time for a shift is at most taken to be."""

HIGH_MM, HIGHER_MM, MOST_HIGH = 72.0, 40.0, 1.5  #: mm, mm, times; tuned here; 72 mm is fret 4 of the mandolin
"""An open course while the hand is high counts from so far up the neck, once for each so many mm, and at most so
often."""

#: frets by finger; D. Grisman, "Position Studies" (mandozine.com, undated): two frets a finger
WIDEST = {2: 2, 3: 4}
"""How far above the frame's fret a finger has places of its own; what is higher is the next finger's."""

#: frets; D. Grisman, "Position Studies" (mandozine.com, undated): where finger 2 was in first position
SECOND = (3, 4)
"""Second position: the hand goes there for what the index finger plays, and is seldom at home there."""

WAITING_MM = 200.0  #: mm; tuned here
"""A hand that holds nothing takes a unit of `height` for so much of the neck: half of a stopped note's."""

REVERSED = 0.4  #: pairs; tuned here
"""A pair that crosses: two fingers at one fret, the lower one on the higher-pitched course."""

CROSSED_MM, MOST_CROSSED = 12.0, 1.5  #: mm, pairs; tuned here
"""Fingers one after the other that cross: a pair for each so many mm, and at most so many."""

BORDER = 0.3  #: times; tuned here
"""How much of a new section's ease a shift at its beginning has."""

SLIDE_GUIDES = 2.0  #: times; tuned here
"""A slide leads a shift so many times as well as a finger on the course."""

HOP_IN_SHIFT = 0.25  #: times; tuned here
"""What is left of a finger's hop to another course and fret where the hand shifts anyway."""

#: times a jump; derived: TNUA (Jen et al. 2021) once fitted a jump of a semitone with 1.04 and a wider one with
#: 1.41 to 1.54 points
FURTHER_FRET = 0.25
"""What each further fret adds to a finger's jump along its course."""


def _held(neck: Neck, low: Stop, high: Stop, mm: float) -> float:
    """Points for two fingers held together: none up to comfortable, and a step where it is a finding."""
    points = neck.pair(low.finger, high.finger, mm)
    if points <= 1.0:
        return 0.0
    strained = is_strained((low.finger, high.finger), mm, neck.hand.span_mm)
    return points - 1.0 + (STEP if strained else 0.0)


# Holding


def holding(neck: Neck, grip: Grip, frame: int, written: tuple[Written, ...], *, goes_on: bool = False) -> Amounts:
    """Amounts for holding a grip with the index finger's own place at the fret `frame`.

    A tie is one note: where every note `goes_on` nothing counts again.
    """
    if goes_on and not grip.ready:
        return
    yield from in_frame(neck, grip, frame)
    yield from in_any_frame(neck, grip, written)


def in_frame(neck: Neck, grip: Grip, frame: int) -> Amounts:
    """Amounts for holding a grip that depend on the frame."""
    origin = neck.mm(frame)
    alone = len({stop.finger for stop in grip.down}) == 1
    for stop in grip.down:
        mm = neck.mm(stop.fret) - origin
        yield "stretch", neck.stretch(stop.finger, mm)
        if alone:  # fingers of a chord are beside each other on different courses
            yield "crowding", neck.crowding(stop.finger, stop.fret - frame, mm)
        if stop.finger in WIDEST:
            yield "wide", max(stop.fret - frame - WIDEST[stop.finger], 0)
        elif stop.finger == 1 and stop.fret < frame > 2:
            yield "back", frame - stop.fret
        if stop.finger == 3 and not neck.is_home(stop.fret - frame, mm):
            yield "away", 1.0
    if not grip.down:
        yield "open-high", max(min((origin - HIGH_MM) / HIGHER_MM, MOST_HIGH), 0.0)
        yield "height", max(origin, 0.0) / WAITING_MM
    if frame == 1:
        yield "half", 1.0
    elif frame in SECOND and all(stop.finger != 1 for stop in grip.down):
        yield "second", 1.0
    if neck.has_habits:
        yield from habits.holding(grip, frame)


def in_any_frame(neck: Neck, grip: Grip, written: tuple[Written, ...]) -> Amounts:
    """Amounts for holding a grip, wherever the index finger has its own place."""
    for stop in grip.down:
        yield "weak", neck.weakness(stop.finger)
        yield "height", neck.mm(stop.fret) / 100.0
    yield from _together(neck, grip)
    if len(grip.down) > 1 and all(stop.finger != 1 for stop in grip.down):
        yield "index-free", 1.0
    yield from _of_notes(grip, written)


def _of_notes(grip: Grip, written: tuple[Written, ...]) -> Amounts:
    for stop, note in zip(grip.notes, written, strict=True):
        if stop.course != note.course:
            yield "moved", 1.0
        if (stop.fret == 0) != (stop.finger == 0):
            yield "law", 1.0
        if note.bent:
            yield ("bend", {2: 0.0, 3: 0.0}.get(stop.finger, 1.0)) if stop.finger else ("law", 1.0)


def lying_over(grip: Grip, one: Stop, other: Stop) -> list[int | None]:
    """What sounds of each course between two stops of one finger, which lies across them: its fret, or None."""
    sounding = {stop.course: stop.fret for stop in grip.held + grip.notes}
    first, last = sorted((one.course, other.course))
    return [sounding.get(course) for course in range(first + 1, last)]


def _together(neck: Neck, grip: Grip) -> Amounts:
    """Amounts for fingers that are down at the same time; a flat one stops every course that it lies across."""
    for one, other in combinations(grip.down, 2):
        if one.finger == other.finger:
            if one.fret == other.fret:
                yield "flat", abs(one.course - other.course)
            over = [fret for fret in lying_over(grip, one, other) if fret is not None]
            if one.fret != other.fret or one.fret > min(over, default=one.fret):
                yield "law", 1.0
            continue
        low, high = sorted((one, other), key=lambda stop: stop.finger)
        mm = neck.mm(high.fret) - neck.mm(low.fret)
        if mm < 0:
            yield "crossing", neck.pair(low.finger, high.finger, mm)
        else:
            yield "reach", _held(neck, low, high, mm)
        if mm == 0:
            yield "crowding", BESIDE
            yield "crossing", REVERSED * (low.course < high.course)
        if low.course == high.course:
            yield "crowding", max(BREADTH_MM * (high.finger - low.finger) - mm, 0.0) / BREADTH_MM


# Changing


def shifting(neck: Neck, one: int, other: int, free_s: float, *, opens: bool) -> Amounts:
    """Amounts for moving the hand from one frame to another in the time that it is free."""
    if one == other:
        return
    yield ("creep", 1.0) if abs(one - other) == 1 else ("shift", 1.0)
    yield "travel", abs(neck.mm(other) - neck.mm(one)) / 100.0
    yield "time", math.log(SHIFT_S / min(max(free_s, LEAST_S), MOST_S))
    needed_s = neck.shift_s(one, other)
    if needed_s > free_s:
        yield "hurry", min(needed_s / max(free_s, LEAST_S), MOST_HURRY) - 1.0
    if opens:
        yield "border", BORDER
    if neck.has_habits:
        yield from habits.shifting(one, other)


def changing(
    neck: Neck, before: Grip, grip: Grip, transition: Transition, *, shifts: bool
) -> list[tuple[str, float]]:
    """Amounts for changing from one grip to the next, in one frame or with a shift; the shift itself not.

    Legato is law: a hammer-on lands with a higher finger, a pull-off uncovers one that is down already, a
    slide keeps its finger, and what is held or tied keeps its place; none of them but the slide in a shift.
    """
    found: list[tuple[str, float]] = list(habits.changing(before, grip)) if neck.has_habits else []
    if grip.held or not transition.is_struck:
        found += _legato(neck, before, grip, transition, shifts=shifts)
    if grip.down:
        found += _setting_down(before.down, grip, transition, shifts=shifts)
    for old in before.notes:
        if old.finger:
            for stop in grip.notes:
                if stop.finger and stop.finger != old.finger and (stop.course == old.course or not shifts):
                    found += _in_turn(neck, old, stop, transition, shifts=shifts)
    if len(before.down) == len(grip.down) == 1:
        found += _by_itself(before.down[0], grip.down[0], shifts=shifts)
    if transition.strikes:
        one, other = before.notes[-1].course, grip.notes[-1].course
        if one != other:
            found.append(("course", course_change(one, transition.strokes[0], other, transition.strokes[1])))
    return found


def _by_itself(old: Stop, stop: Stop, *, shifts: bool) -> Amounts:
    """A finger that goes along its course by a shift, or itself, where another one may lie there."""
    if old.course == stop.course and old.fret != stop.fret and (shifts or old.finger == stop.finger):
        yield "by-itself", 1.0


def _legato(neck: Neck, before: Grip, grip: Grip, transition: Transition, *, shifts: bool) -> Amounts:
    """Breaches of the law, and what slurs take."""
    tied = tuple(stop for stop, is_tied in zip(grip.notes, transition.tied, strict=True) if is_tied)
    for stop in grip.held + tied:
        yield "law", float((stop.finger > 0 and shifts) or stop not in before.notes + before.held)
    for stop, is_tied, reached in zip(grip.notes, transition.tied, transition.reached, strict=True):
        if reached is not Reached.STRUCK and not is_tied:
            yield from _slurring(neck, before, stop, reached, shifts=shifts)


def _slurring(neck: Neck, before: Grip, stop: Stop, reached: Reached, *, shifts: bool) -> Amounts:
    source = next((old for old in before.notes if old.course == stop.course), None)
    if source is None:
        yield "law", 1.0
    elif reached is Reached.SLIDE:
        yield "law", float(source.finger != stop.finger or stop.finger == 0)
        yield "slide", abs(neck.mm(stop.fret) - neck.mm(source.fret)) / 100.0
        yield "guide", SLIDE_GUIDES * shifts
    elif stop.finger and source.finger:
        higher, lower = (stop, source) if reached is Reached.HAMMER else (source, stop)
        yield "law", float(shifts or higher.finger <= lower.finger or higher.fret <= lower.fret)
        if higher.finger > lower.finger:
            yield "reach", _held(neck, lower, higher, neck.mm(higher.fret) - neck.mm(lower.fret))
        if reached is Reached.PULL:
            yield "law", float(stop not in before.ready)


def _setting_down(
    down: tuple[Stop, ...], grip: Grip, transition: Transition, *, shifts: bool
) -> list[tuple[str, float]]:
    """Amounts for the fingers that were not on their places before."""
    found: list[tuple[str, float]] = []
    led, landed = 0, False
    for stop in grip.down:
        if stop in down:
            continue
        found.append(("stopped", 1.0))
        landed = landed or stop.finger == 1
        old, is_taken = None, False
        for other in down:  # quicker than generators, and called very often
            if other.finger == stop.finger:
                old = old or other
            elif other.course == stop.course and other.fret == stop.fret:
                is_taken = True
        if old is None:
            if is_taken:
                found.append(("switch", 1.0))
        elif shifts:
            led += old.course == stop.course
            if old.course != stop.course and old.fret != stop.fret:
                found.append(("hop", HOP_IN_SHIFT))
        elif not transition.slides:
            found.append(_moving(old, stop, transition.quickness))
    if shifts:
        found.append(("index-lands", float(landed)))
        found.append(("guide", float(led > 1 and not transition.slides)))
    return found


def _moving(old: Stop, stop: Stop, quickness: float) -> tuple[str, float]:
    """What it takes one finger to get from one place to another without a shift."""
    if old.course == stop.course:
        frets = abs(old.fret - stop.fret)
        return "jump", quickness * (NEXT_FRET if frets == 1 else 1.0 + FURTHER_FRET * (frets - 1))
    if old.fret == stop.fret:
        return "roll", quickness * abs(old.course - stop.course)
    return "hop", quickness


def _in_turn(
    neck: Neck, old: Stop, stop: Stop, transition: Transition, *, shifts: bool
) -> list[tuple[str, float]]:
    """Amounts for two different fingers one after the other."""
    found: list[tuple[str, float]] = []
    low, high = (old, stop) if old.finger < stop.finger else (stop, old)
    if old.course == stop.course and old.fret != stop.fret:
        rate = 1.0 / max(transition.gap_s, 1e-3)
        limit = neck.pace(low.finger, high.finger)
        if rate > limit:
            found.append(("pace", rate / limit - 1.0))
    if shifts:
        return found
    mm = neck.mm(high.fret) - neck.mm(low.fret)
    if mm < 0:
        found.append(("crossing", min(-mm / CROSSED_MM, MOST_CROSSED) * transition.quickness))
    elif mm == 0:
        found += [("crowding", BESIDE), ("crossing", REVERSED * (low.course < high.course))]
    else:
        points = neck.pair(low.finger, high.finger, mm)
        if transition.alternates:
            found.append(("reach", _held(neck, low, high, mm)))
        elif points > 1.0:
            found.append(("over", (points - 1.0) * transition.quickness))
    return found
