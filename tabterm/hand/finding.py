"""A finding: something a hand cannot do or finds hard, with the numbers behind it and ways round it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tabterm.score.model import Event, Head, Note, Score
    from tabterm.score.place import Place


class Severity(StrEnum):
    """How bad it is; only `impossible` makes a check fail."""

    IMPOSSIBLE = "impossible"
    HARD = "hard"
    AWKWARD = "awkward"
    REMARK = "remark"


CODES = {
    "reach": "two fingers that are down together are too far apart",
    "reach-next": "the next note comes too soon for so wide a reach",
    "two-frets-one-course": "a course is to sound at two frets at once",
    "one-finger-two-frets": "one finger is set on two frets at once",
    "too-few-fingers": "more notes are stopped than there are fingers",
    "hammer-on-downwards": "a hammer-on goes to a lower fret",
    "pull-off-upwards": "a pull-off goes to a higher fret",
    "pull-off-from-nothing": "a pull-off comes from an open or dead course",
    "slur-from-nothing": "a hammer-on or slide comes from a dead note",
    "slur-across-courses": "a slur goes from one course to another",
    "slide-open-course": "a slide goes to or from an open course",
    "bend-open-course": "an open course is bent",
    "beyond-the-neck": "a fret is beyond the neck",
    "stroke-on-slur": "a stroke is set on a note that is not struck",
    "against-the-grid": "two set strokes in a row go against the beat",
}
"""Every kind of finding, and what it means."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """A way round a finding: what it does, in words, and the operation (score, place of the finding)."""

    label: str
    operation: Callable[[Score, Place], Score]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something found at a place.

    Attributes:
        code: A key of `CODES`.
        severity: How bad it is.
        place: Where.
        course: On which course, where it is about one.
        message: What, in plain words, with the numbers.
        numbers: The numbers, by name (units in the names).
        remedies: Ways round it, the best first.
    """

    code: str
    severity: Severity
    place: Place
    course: int | None
    message: str
    numbers: Mapping[str, float | int | str] = field(default_factory=dict)
    remedies: tuple[Remedy, ...] = ()

    def mend(self, score: Score, number: int = 0) -> Score:
        """The score after a remedy; raises ScoreError when that cannot be done."""
        return self.remedies[number].operation(score, self.place)


@dataclass(frozen=True, slots=True)
class Moment:
    """An event in its surroundings: what every rule looks at.

    Attributes:
        place: Its onset.
        event: The event.
        before: The event right before it, over the bar line, or None at the start.
        before_place: Its onset.
        ringing: Notes let ring that sound still when the event begins.
        head: Instrument and hand.
        gap_s: Seconds from the onset of the event before to this one, as written.
    """

    place: Place
    event: Event
    before: Event | None
    before_place: Place | None
    ringing: tuple[Note, ...]
    head: Head
    gap_s: float

    def source(self, note: Note) -> Note | None:
        """The note that a slurred or tied note comes from, on its own course; a grace note goes first."""
        graces = [grace for grace in self.event.grace if grace.course == note.course]
        if graces:
            return graces[-1]
        return None if self.before is None else self.before.on_course(note.course)
