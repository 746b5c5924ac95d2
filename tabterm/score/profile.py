"""The hand profile: how far a player's hands reach and how fast they move.

A score may carry a profile of its own. One that carries none is played by whoever opens it.
"""

from __future__ import annotations

from typing import Annotated

from tabterm.forms import After, Limits
from tabterm.values import Value

#: notes/s; format: what a file may say
Speed = Annotated[float, Limits(ge=1, le=25, allow_inf_nan=False)]
"""Notes per second. The fastest drummer measured taps at 10 Hz (Fujii et al. 2009, Neurosci Lett 459(2):69-73),
which is 20 alternate strokes; the bound leaves room above."""

#: fingers; format: what a file may say
WeakFingers = Annotated[tuple[Annotated[int, Limits(ge=1, le=4)], ...], After(lambda f: tuple(sorted(set(f))))]
"""Fingers from 1 to 4, in order, each once."""


class Speeds(Value):
    """The fastest clean rates of a player, in notes per second; `tabterm.hand.player` gives their sources.

    Attributes:
        fingers_12: Index and middle finger in turn on one course.
        fingers_13: Index and ring finger.
        fingers_14: Index and little finger.
        fingers_23: Middle and ring finger.
        fingers_24: Middle and little finger.
        fingers_34: Ring and little finger.
        course_change: Alternate strokes, each on the other of two neighbouring courses.
        strokes: Alternate strokes on one course.
        repeated: Equal strokes in a row on one course: down, down.
    """

    #: notes/s; derived: two fingers in turn tap 1.5 times as fast as one (Aoki and Kinoshita 2001), and one hand
    #: goes to and fro 5 to 7 times a second (Fujii et al. 2009), so 7.5 to 10.5
    fingers_12: Speed = 8.0
    fingers_13: Speed = 7.5  #: notes/s; common practice, no source: a little below fingers 1 and 2
    fingers_14: Speed = 7.0  #: notes/s; common practice, no source: a little below fingers 1 and 2
    fingers_23: Speed = 7.5  #: notes/s; common practice, no source: a little below fingers 1 and 2
    fingers_24: Speed = 7.0  #: notes/s; common practice, no source: a little below fingers 1 and 2
    fingers_34: Speed = 6.0  #: notes/s; common practice, no source: a little below fingers 1 and 2
    course_change: Speed = 8.0  #: notes/s; common practice, no source: below strokes on one course
    strokes: Speed = 10.0  #: notes/s; derived: 5 to 7 Hz to and fro (Fujii et al. 2009) are 10 to 14 strokes
    repeated: Speed = 6.5  #: notes/s; Fujii et al. 2009, Neurosci Lett 459(2):69-73: 5 to 7 Hz

    def fingers(self, one: int, other: int) -> float:
        """Notes per second that two different fingers (1 to 4, in any order) do in turn on one course."""
        low, high = sorted((one, other))
        rate: float = getattr(self, f"fingers_{low}{high}")
        return rate


class HandProfile(Value):
    """What a player's hands can do; the default is an adult reference hand.

    Attributes:
        span_mm: Flat span from index to little finger; scales the stretch bands (`tabterm.hand.bands`).
        weak: Weak fingers of the left hand.
        speeds: Fastest clean rates.
    """

    #: mm; derived: as REFERENCE_SPAN_MM of tabterm.hand.bands
    span_mm: Annotated[float, Limits(ge=60, le=220, allow_inf_nan=False)] = 143.0
    weak: WeakFingers = (3, 4)  #: fingers; common practice, no source
    speeds: Speeds = Speeds()


REFERENCE_HAND = HandProfile()
"""The adult reference hand: what holds where nothing is known of the player."""
