"""A line of music before it has a place on any neck: what was read, or heard.

It has the shape of a score, so that what makes measures makes both: a head, measures, events, notes. But its notes
have a pitch where those of a score have a course and a fret. `tabterm.hand.adapt` makes a score of it; the score
keeps its pitches, durations, ties and articulation as the source row (`tabterm.score.source`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Self, TypeVar

from tabterm.forms import Limits
from tabterm.score.duration import Duration
from tabterm.score.kinds import Direction, Stroke
from tabterm.score.model import Event, Head, Measure, Score, Signs
from tabterm.score.source import Marks, SourceEvent, Tone
from tabterm.values import Value, field_names

if TYPE_CHECKING:
    from fractions import Fraction

LONGEST_SLUR = 4
"""Notes under a slur that a left hand still sounds; longer ones are phrases (common practice, no source)."""


NOTE_MARKS = ("bend", "slide_in", "slide_out", "muted", "ring", "vibrato")
"""What is marked on a note of a line, and stays the same wherever it is played."""

EVENT_MARKS = ("stroke", "tremolo", "accent", "staccato", "damp", "roll")
"""The same of a moment."""


class Moment(Value):
    """What begins at one moment of a line: a rest, a note or several; all means what it means of an `Event`.

    Attributes:
        notes: The highest first; any number of them.
    """

    duration: Duration
    notes: tuple[Tone, ...] = ()
    stroke: Stroke | None = None
    tremolo: bool = False
    accent: bool = False
    staccato: bool = False
    damp: bool = False
    roll: Direction | None = None
    grace: tuple[Tone, ...] = ()

    @classmethod
    def of(cls, written: SourceEvent) -> Self:
        """The moment that a source row has kept."""
        marks = written.marks or Marks()
        marked = {tone.pitch: tone for tone in marks.notes}
        notes = tuple(
            marked.get(pitch, Tone(pitch=pitch)).with_(tied=written.holds(pitch))
            for pitch in dict.fromkeys(written.pitches)
        )
        of_moment = {name: getattr(marks, name) for name in field_names(Marks) if name != "notes"}
        return cls(duration=written.duration, notes=notes, **of_moment)

    @property
    def length(self) -> Fraction:
        """Length in quarters."""
        return self.duration.length

    @property
    def is_rest(self) -> bool:
        """No note sounds."""
        return not self.notes

    @property
    def pitches(self) -> tuple[int, ...]:
        """What sounds, the highest first, each pitch once."""
        return tuple(dict.fromkeys(note.pitch for note in self.notes))

    @property
    def source(self) -> SourceEvent:
        """What a source row keeps of it: all but voices, strokes and fingers."""
        held = {note.pitch for note in self.notes if note.tied}
        bare = (note.with_(tied=False, finger=None, voice=0) for note in self.notes)
        of_moment = {name: getattr(self, name) for name in field_names(Marks) if name != "notes"}
        of_moment["grace"] = tuple(note.with_(finger=None, voice=0) for note in self.grace)
        marks = Marks(notes=tuple(note for note in bare if note != Tone(pitch=note.pitch)), **of_moment)
        kept = SourceEvent.of(self.duration, self.pitches, held)
        return kept if marks == Marks() else kept.with_(marks=marks)


class Bar(Signs):
    """A measure of a line."""

    events: Annotated[tuple[Moment, ...], Limits(min_length=1)]

    @property
    def source(self) -> tuple[SourceEvent, ...]:
        """The measure as the source row of a score keeps it."""
        return tuple(each.source for each in self.events)


Sounding = TypeVar("Sounding", Event, Moment)
"""What happens at one moment, of a score or of a line."""


class Line(Value):
    """A line of music.

    Attributes:
        head: That of the score to be; its instrument is the one to fit it to where no other is asked for.
        measures: In order.
    """

    head: Head = Head()
    measures: Annotated[tuple[Bar, ...], Limits(min_length=1)]


def silent(line: Line) -> Score:
    """The score of a line in which nothing is played yet, with the line as its source row."""
    return Score(head=line.head, measures=tuple(_silent(bar) for bar in line.measures))


def _silent(bar: Bar) -> Measure:
    signs = {name: getattr(bar, name) for name in field_names(Signs)}
    return Measure(events=tuple(Event(duration=each.duration) for each in bar.events), source=bar.source, **signs)
