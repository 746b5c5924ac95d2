"""The left hand on a sounding course: slides, bends and vibrato, as pitch over time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.kinds import BendShape, Direction

if TYPE_CHECKING:
    from tabterm.score.model import Note

GLIDE_S = 0.12  #: s; tuned here
SLIDE_FROM_CENTS = 200.0  #: cents; common practice, no source
"""A slide in from, or off to, no particular fret covers this much."""

BEND_S = 0.22  #: s; tuned here
BEND_PART = 0.4  #: part of the note; tuned here
"""A bend takes so much of a short note at most."""

VIBRATO_HZ, VIBRATO_CENTS, VIBRATO_AFTER_S = 5.5, 14.0, 0.12  #: Hz, cents, s; tuned here
STEP_S = 0.01  #: s; implementation limit
"""Pitch is sent in steps of this length."""


class Curve(list[tuple[float, float]]):
    """(time in s, cents from the struck pitch), in order of time."""

    @property
    def cents(self) -> float:
        """Where it has come to."""
        return self[-1][1] if self else 0.0

    def append(self, point: tuple[float, float]) -> None:
        """Add a point, which by rounding may seem to lie a hair before the last one."""
        time_s, cents = point
        super().append((max(time_s, self[-1][0]) if self else time_s, cents))

    def glide(self, start_s: float, end_s: float, cents: float) -> None:
        """Go evenly from where it is to `cents` between two moments."""
        first = self.cents
        steps = max(round((end_s - start_s) / STEP_S), 1)
        for number in range(1, steps + 1):
            part = number / steps
            self.append((start_s + (end_s - start_s) * part, first + (cents - first) * part))

    def arrive(self, start_s: float, at_s: float, cents: float) -> None:
        """Glide so as to arrive at `at_s`, leaving after `start_s`; what was going on then is cut short."""
        leave_s = max(at_s - GLIDE_S, (start_s + at_s) / 2)
        while self and self[-1][0] > leave_s:
            self.pop()
        self.glide(leave_s, at_s, cents)


def shade(curve: Curve, note: Note, start_s: float, end_s: float, *, fresh: bool) -> None:
    """Lay the slides, bend and vibrato of a note over the time in which it sounds.

    Args:
        curve: What the course has done so far.
        note: The note.
        start_s: When it begins.
        end_s: When it stops.
        fresh: It is struck or slurred here, so that it can be slid into.
    """
    base, middle_s = curve.cents, (start_s + end_s) / 2
    begin_s, finish_s = start_s, end_s
    if note.slide_in is not None and fresh:
        begin_s = min(start_s + GLIDE_S, middle_s)
        curve.append((start_s, base + _away(note.slide_in) * -SLIDE_FROM_CENTS))
        curve.glide(start_s, begin_s, base)
    if note.slide_out is not None:
        finish_s = max(end_s - GLIDE_S, middle_s)
    if note.bend is not None:
        _bend(curve, note.bend.shape, base + note.bend.cents, begin_s, finish_s)
    elif note.vibrato:
        _vibrato(curve, begin_s, finish_s)
    if note.slide_out is not None:
        gone_s = max(end_s - STEP_S / 2, finish_s)
        curve.glide(finish_s, gone_s, base + _away(note.slide_out) * SLIDE_FROM_CENTS)


def _away(direction: Direction) -> int:
    return 1 if direction is Direction.UP else -1


def _bend(curve: Curve, shape: BendShape, top: float, start_s: float, end_s: float) -> None:
    base, travel_s = curve.cents, min(BEND_S, (end_s - start_s) * BEND_PART)
    if shape is BendShape.FALL:
        curve.append((start_s, top))
        curve.glide(start_s + travel_s, start_s + 2 * travel_s, base)
        return
    curve.glide(start_s + travel_s / 4, start_s + travel_s, top)
    if shape is BendShape.RISE_AND_FALL:
        curve.glide(end_s - travel_s, end_s - travel_s / 4, base)


def _vibrato(curve: Curve, start_s: float, end_s: float) -> None:
    """Triangular shaking above and below the pitch, ending on it."""
    base, half_s, at_s, side = curve.cents, 0.5 / VIBRATO_HZ, start_s + VIBRATO_AFTER_S, 1
    while at_s + half_s < end_s:
        curve.glide(at_s, at_s + half_s, base + side * VIBRATO_CENTS)
        at_s, side = at_s + half_s, -side
    if curve.cents != base:
        curve.append((max(at_s, end_s - STEP_S / 2), base))
