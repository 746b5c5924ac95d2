"""A finding: something a hand cannot do or finds hard, with the numbers behind it and ways round it."""

from __future__ import annotations

import math
from dataclasses import field
from enum import StrEnum
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.grips import transition
from tabterm.hand.stops import Grip

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tabterm.hand.fingering import Hold, Solved
    from tabterm.hand.neck import Neck
    from tabterm.hand.stops import Transition
    from tabterm.score.model import Event, Head, Note, Score
    from tabterm.score.place import Place
    from tabterm.score.tempo import Tempo


class Severity(StrEnum):
    """How bad it is; only `impossible` makes a check fail."""

    IMPOSSIBLE = "impossible"
    HARD = "hard"
    AWKWARD = "awkward"
    REMARK = "remark"


class Kind(StrEnum):
    """What a remedy changes, in the order in which a teacher tries them (common practice, no source)."""

    FINGER = "finger"
    STROKE = "stroke"
    COURSE = "course"
    SLUR = "slur"
    SHAPE = "shape"
    MEASURE = "measure"
    RHYTHM = "rhythm"
    REGISTER = "register"
    PITCH = "pitch"
    TEMPO = "tempo"


KINDS = {
    Kind.FINGER: "another finger",
    Kind.STROKE: "another stroke",
    Kind.COURSE: "the same note on another course",
    Kind.SLUR: "pick, slur or slide to the note, or shorten the note before",
    Kind.SHAPE: "another shape of the same chord",
    Kind.MEASURE: "this measure slower",
    Kind.RHYTHM: "fewer notes to strike",
    Kind.REGISTER: "another octave, or far up the neck",
    Kind.PITCH: "a note or a bend left out",
    Kind.TEMPO: "everything slower",
}
"""Every kind of remedy in words."""

UNASKED = frozenset({Kind.FINGER, Kind.STROKE, Kind.COURSE, Kind.SLUR, Kind.SHAPE})
"""What is mended without a question, since the same is heard. Any other kind is for the player to choose."""

CODES = {
    "reach": "two fingers held down together are too far apart",
    "reach-next": "the next note comes too soon for so wide a reach",
    "shift-no-time": "the hand has too little time for a shift",
    "finger-switch": "another finger takes over a sounding note, or repeats it at once",
    "finger-jump": "one finger jumps along its course too quickly",
    "finger-roll": "one finger moves to the next course too quickly",
    "little-finger-load": "the little finger plays most of the notes for a while",
    "fingers-too-fast": "two fingers alternate faster than they can",
    "no-fingering": "no fingering is possible",
    "slur-too-fast": "a slur, or a run of slurs, is too fast for the fingers",
    "pull-off-unprepared": "the lower finger of a pull-off is not down, or has no time to get there",
    "set-fingers": "the set fingers are impossible",
    "two-frets-one-course": "a course would have to sound at two frets at once",
    "one-finger-two-frets": "one finger is set on two frets at once",
    "too-few-fingers": "more notes are stopped than a hand has fingers",
    "hammer-on-downwards": "a hammer-on goes to a lower fret",
    "pull-off-upwards": "a pull-off goes to a higher fret",
    "pull-off-from-nothing": "a pull-off comes from an open or dead course",
    "slur-from-nothing": "a hammer-on or slide comes from a dead note",
    "slur-across-courses": "a slur goes from one course to another",
    "slide-open-course": "a slide goes to or from an open course",
    "bend-open-course": "an open course is bent",
    "bend-too-far": "a bend is wider than the course allows, or than is comfortable",
    "beyond-the-neck": "a fret is beyond the neck",
    "stroke-on-slur": "a stroke is set on a note that is not struck",
    "stroke-against-roll": "a set stroke goes against the direction of the roll",
    "stroke-return": "the hand has no time to come back between two strokes in one direction",
    "strokes-too-fast": "strokes are too fast for the hand",
    "too-much-in-a-beat": "a beat takes more effort than the hand can give",
    "against-the-grid": "two set strokes in a row go against the beat",
}
"""Every kind of finding, and what it means."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """A way round a finding: its kind, what it does in words, and the operation (score, place of the finding)."""

    kind: Kind
    label: str
    operation: Callable[[Score, Place], Score]

    @property
    def is_unasked(self) -> bool:
        """It may be applied without a question."""
        return self.kind in UNASKED


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
        remedies: Ways round it to try (see `tabterm.hand.trial.offered`), the best first.
    """

    code: str
    severity: Severity
    place: Place
    course: int | None
    message: str
    numbers: Mapping[str, float | int | str] = field(default_factory=dict)
    remedies: tuple[Remedy, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """What the left hand does to get to an onset.

    Attributes:
        before: The hand at the onset before, or None where the hand has all the time to come.
        hold: The hand at this one.
        between: The time in between, None as above.
    """

    before: Hold | None
    hold: Hold
    between: Transition | None

    @property
    def shifts(self) -> bool:
        """The hand moves to another frame."""
        return self.before is not None and self.before.frame != self.hold.frame

    @property
    def free_s(self) -> float:
        """Seconds in which the hand is free to move."""
        if self.before is None or self.between is None:
            return math.inf
        return self.between.free_s(open_course=not self.before.grip.down)


def step_of(solved: Solved, number: int) -> Step:
    """The step to an onset of a solved phrase."""
    hold = solved.holds[number]
    if not number:
        return Step(None, hold, None)
    before = solved.holds[number - 1]
    return Step(before, hold, transition(before.onset, hold.onset))


@dataclass(frozen=True, slots=True)
class Situation:
    """An event in its surroundings: what every rule looks at.

    Attributes:
        place: Its onset.
        event: The event.
        before: The event right before it, over the bar line, or None at the start.
        before_place: Its onset.
        ringing: Notes let ring that sound still when the event begins.
        head: The head of the score.
        neck: The neck under the player's hand.
        tempo: The tempo there.
        gap_s: Seconds from the onset of the event before to this one, as written.
        steps: The left hand at its grace notes and at itself, as set or else as proposed; none for a rest.
    """

    place: Place
    event: Event
    before: Event | None
    before_place: Place | None
    ringing: tuple[Note, ...]
    head: Head
    neck: Neck
    tempo: Tempo
    gap_s: float
    steps: tuple[Step, ...] = ()

    @property
    def grip(self) -> Grip:
        """The left hand at the event itself."""
        return self.steps[-1].hold.grip if self.steps else Grip(())

    def source(self, note: Note) -> Note | None:
        """The note that a slurred or tied note comes from, on its own course; a grace note goes first."""
        graces = [grace for grace in self.event.grace if grace.course == note.course]
        if graces:
            return graces[-1]
        return None if self.before is None else self.before.on_course(note.course)
