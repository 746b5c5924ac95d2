"""How far a course can be bent: a string pushed sideways at a fret gets longer, tighter and higher.

The model is that of D. R. Grimes 2014, "String Theory - The Physics of String-Bending and Other Electric Guitar
Techniques", PLoS ONE 9(7): e102088 (a bent string's pitch from its tension, length and stiffness), worked out
here from the geometry: pushed by y at a distance a from the nut and b from the bridge the string is
sqrt(a^2 + y^2) + sqrt(b^2 + y^2) long; what it gains stretches the whole string, with what lies behind nut and
bridge, and raises its tension by E A dl / l. Both strings of a course are bent together.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.instrument import fret_distance_mm
from tabterm.instrument.strings import hertz_of, usual_string
from tabterm.score.kinds import BendShape, Reached

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.instrument import Instrument
    from tabterm.score.model import Note
    from tabterm.score.source import Bend

BEHIND = 0.3  #: part of the scale length; from memory
"""String behind nut and bridge, as a part of the scale length."""

SAFE = 0.95  #: part of the strength; common practice, no source
"""Part of the least tensile strength that a bend may reach."""

EASY_N, MOST_N = 20.0, 35.0  #: N; common practice, no source
"""Sideways force that is comfortable, and the most that is asked of a finger."""

ROOM = 1.5  #: course distances; common practice, no source
"""A course is pushed so many course distances at most: over its neighbour's place, or from the edge inwards."""

NEAR_CENTS = 25  #: cents; common practice, no source
"""A bend that ends so near to a fret's pitch is meant to reach it."""


@dataclass(frozen=True, slots=True)
class Bent:
    """A course pushed sideways.

    Attributes:
        displacement_mm: How far, at the fret.
        cents: How much higher it sounds.
        force_n: Sideways force of the finger, for all strings of the course.
        tension_n: Tension of one string then.
    """

    displacement_mm: float
    cents: float
    force_n: float
    tension_n: float


@dataclass(frozen=True, slots=True)
class Bounds:
    """How far a course can be bent at a fret.

    Attributes:
        comfortable_cents: Up to where the force is comfortable.
        possible_cents: Up to where it is possible at all.
        decides: What ends it: `force`, `room` on the fingerboard, or the `wire`.
    """

    comfortable_cents: float
    possible_cents: float
    decides: str


def pushed(instrument: Instrument, course: int, fret: int, displacement_mm: float) -> Bent:
    """A course pushed sideways by so many mm at a fret (from 1 on)."""
    scale_mm, y = instrument.scale_length_mm, displacement_mm
    kind = instrument.courses[course - 1]
    string = usual_string(kind.pitch, scale_mm)
    rest_n = string.tension_n(hertz_of(kind.pitch), scale_mm)
    nut_mm = fret_distance_mm(scale_mm, fret)
    bridge_mm = scale_mm - nut_mm
    nut_side, bridge_side = math.hypot(nut_mm, y), math.hypot(bridge_mm, y)
    strain = (nut_side + bridge_side - scale_mm) / (scale_mm * (1.0 + BEHIND))
    tension_n = rest_n + string.stiffness_n * strain
    ratio = math.sqrt(tension_n / rest_n) * bridge_mm / bridge_side
    strings = 1 if kind.single else 2
    force_n = strings * tension_n * (y / nut_side + y / bridge_side)
    return Bent(y, 1200.0 * math.log2(ratio), force_n, tension_n)


def bent(instrument: Instrument, course: int, fret: int, cents: float) -> Bent:
    """The push that raises a course by so many cents at a fret; at most 100 mm."""
    low, high = 0.0, 100.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if pushed(instrument, course, fret, middle).cents < cents else (low, middle)
    return pushed(instrument, course, fret, high)


@lru_cache(maxsize=1024)
def bounds(instrument: Instrument, course: int, fret: int) -> Bounds:
    """How far a course can be bent at a fret, and what ends it."""
    string = usual_string(instrument.courses[course - 1].pitch, instrument.scale_length_mm)
    limits = {
        "force": _push_until(instrument, course, fret, lambda push: push.force_n > MOST_N),
        "room": ROOM * course_distance_mm(instrument, fret),
        "wire": _push_until(instrument, course, fret, lambda push: push.tension_n > SAFE * string.breaking_n),
    }
    decides = min(limits, key=lambda name: limits[name])
    easy = min(_push_until(instrument, course, fret, lambda push: push.force_n > EASY_N), limits[decides])
    return Bounds(
        pushed(instrument, course, fret, easy).cents,
        pushed(instrument, course, fret, limits[decides]).cents,
        decides,
    )


def _push_until(instrument: Instrument, course: int, fret: int, beyond: Callable[[Bent], bool]) -> float:
    low, high = 0.0, 100.0
    for _ in range(30):
        middle = (low + high) / 2.0
        low, high = (low, middle) if beyond(pushed(instrument, course, fret, middle)) else (middle, high)
    return low


def course_distance_mm(instrument: Instrument, fret: int) -> float:
    """Distance between neighbouring courses at a fret, between nut and bridge in a straight line."""
    share = fret_distance_mm(instrument.scale_length_mm, fret) / instrument.scale_length_mm
    nut_mm, bridge_mm = instrument.course_pitch_nut_mm, instrument.course_pitch_bridge_mm
    return nut_mm + (bridge_mm - nut_mm) * share


def as_slur(instrument: Instrument, note: Note) -> tuple[tuple[Note, ...], Note] | None:
    """A bend played as a slide to the fret that it reaches, from an open course as a hammer-on.

    Where it ends between two frets, the slide goes to the lower one and a small bend does the rest.

    Grace notes for where it comes from, and the note that is left; None for a note that is not bent, or is tied,
    and where the bend ends within the first semitone, beyond the neck, or the rest of it cannot be bent.
    """
    if note.bend is None or note.tied:
        return None
    reached = landing(instrument, note.course, note.fret, note.bend)
    if reached is None:
        return None
    fret, rest = reached
    plain = note.with_(bend=None, reached=Reached.STRUCK)
    high = plain.with_(fret=fret, finger=None, proposed_finger=None)
    up, down = (Reached.SLIDE, Reached.SLIDE) if note.fret else (Reached.HAMMER, Reached.PULL)
    if note.bend.shape is BendShape.RISE:
        return (plain,), high.with_(reached=up, bend=rest)
    if note.bend.shape is BendShape.FALL:
        return (high,), plain.with_(reached=down)
    return (plain, high.with_(reached=up)), plain.with_(reached=down)


def landing(instrument: Instrument, course: int, fret: int, bend: Bend) -> tuple[int, Bend | None] | None:
    """The fret that a bend reaches, and the small bend that is left from there, if any; None for no fret."""
    semitones, rest = divmod(bend.cents + NEAR_CENTS, 100)
    at, cents = fret + semitones, rest - NEAR_CENTS
    if not semitones or at > instrument.frets:
        return None
    if cents <= NEAR_CENTS:
        return at, None
    possible = cents <= bounds(instrument, course, at).possible_cents
    return (at, bend.with_(cents=cents)) if possible else None
