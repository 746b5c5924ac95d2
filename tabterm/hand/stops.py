"""What the left hand does at an onset, as values: stops on courses, a grip, and what lies between two."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from tabterm.score.kinds import Stroke

QUICK_S = 0.25  #: s; common practice, no source
"""At this gap between two onsets the movements of single fingers count in full; more slowly less, more quickly
more, by the ratio."""

#: times; tuned here: 0.4 and 1.6 at first, 0.7 since, so that first position is kept at any tempo
LEAST_QUICK, MOST_QUICK = 0.7, 1.6
"""What a movement of a single finger counts at least, however slow the music is, and at most."""

STOPPED_PART = 0.5  #: part of a note; common practice, no source
"""Part of a stopped note for which the hand has to stay."""


class Stop(NamedTuple):
    """A finger (0: none, the course is open) on a course at a fret."""

    course: int
    fret: int
    finger: int


class Written(NamedTuple):
    """A note as it stands in the score: its course and fret, and whether it is bent."""

    course: int
    fret: int
    bent: bool = False


@dataclass(frozen=True, slots=True)
class Grip:
    """What the left hand does at an onset.

    Attributes:
        notes: A stop for each note that begins or goes on, in the order of the onset's notes.
        held: Stops of notes that ring on from before.
        ready: Stops under a higher one of the same course, set down beforehand for a pull-off.
        down: Every finger that is down.
    """

    notes: tuple[Stop, ...]
    held: tuple[Stop, ...] = ()
    ready: tuple[Stop, ...] = ()
    down: tuple[Stop, ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        stops = (*self.notes, *self.held, *self.ready)
        object.__setattr__(self, "down", tuple(dict.fromkeys(stop for stop in stops if stop.finger)))


@dataclass(frozen=True, slots=True)
class Transition:
    """What lies between two onsets.

    Attributes:
        gap_s: Seconds from one to the other.
        rest_s: Seconds of rest in between.
        let_go: Part of the first one's length that sounds.
        opens: A section begins with the second.
        tied: Whether each note of the second is tied.
        reached: How each note of the second is reached.
        strokes: The strokes shown, of the first and the second.
        alternates: The hand goes back to where it was before the first, so fast that the fingers stay where they
            are, as if held together.
        quickness: Weight of what single fingers do.
        is_struck: Nothing is tied or slurred.
        strikes: A note of the second is struck.
        slides: A note of the second is slid to.
    """

    gap_s: float
    rest_s: float
    let_go: float
    opens: bool
    tied: tuple[bool, ...]
    reached: tuple[Reached, ...]
    strokes: tuple[Stroke | None, Stroke | None]
    alternates: bool = False
    quickness: float = field(init=False, compare=False)
    is_struck: bool = field(init=False, compare=False)
    strikes: bool = field(init=False, compare=False)
    slides: bool = field(init=False, compare=False)

    def __post_init__(self) -> None:
        struck = all(reached is Reached.STRUCK for reached in self.reached)
        object.__setattr__(self, "quickness", min(max(QUICK_S / max(self.gap_s, 1e-3), LEAST_QUICK), MOST_QUICK))
        object.__setattr__(self, "is_struck", struck and not any(self.tied))
        object.__setattr__(self, "strikes", Reached.STRUCK in self.reached and not all(self.tied))
        object.__setattr__(self, "slides", Reached.SLIDE in self.reached)

    def free_s(self, *, open_course: bool) -> float:
        """Seconds in which the hand is free to shift: half of a stopped note, the whole of an open one.

        A note that is cut short frees the rest of its time (common practice, no source).
        """
        sounding = max(self.gap_s - self.rest_s, 0.0)
        used = 0.0 if open_course else STOPPED_PART * self.let_go
        return self.rest_s + sounding * (1.0 - used)
