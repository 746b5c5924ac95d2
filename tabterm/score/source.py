"""The original line as a score keeps it beside an arrangement: pitches, durations, ties and articulation."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Self

from tabterm.errors import ScoreError
from tabterm.forms import Limits
from tabterm.score.duration import Duration
from tabterm.score.kinds import BendShape, Direction, Reached
from tabterm.values import Value

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

Pitch = Annotated[int, Limits(ge=0, le=127)]
"""A MIDI note number."""

Finger = Annotated[int, Limits(ge=0, le=4)]
"""0 open, 1 index, 2 middle, 3 ring, 4 little finger."""


class Bend(Value):
    """A pitch bend by the left hand: how far, in cents above the fret, and its course."""

    cents: Annotated[int, Limits(ge=5, le=400)] = 50
    shape: BendShape = BendShape.RISE


class Tone(Value):
    """A note of a line; all but pitch and voice means what it means of a `Note`.

    Attributes:
        voice: Rank of its voice in the file, 0 for the first or only one; a source row does not keep it.
    """

    pitch: Pitch
    voice: Annotated[int, Limits(ge=0)] = 0
    finger: Finger | None = None
    reached: Reached = Reached.STRUCK
    tied: bool = False
    bend: Bend | None = None
    slide_in: Direction | None = None
    slide_out: Direction | None = None
    muted: bool = False
    ring: bool = False
    vibrato: bool = False

    @property
    def slurred(self) -> bool:
        """It is to be sounded by the left hand."""
        return self.reached is not Reached.STRUCK and not self.tied

    @property
    def is_struck(self) -> bool:
        """Sounded by a stroke of its own."""
        return not self.slurred and not self.tied

    @property
    def spot(self) -> int:
        """What a tie to it has to come from."""
        return self.pitch


class Marks(Value):
    """How a moment of the original line is articulated.

    Attributes:
        notes: Those of its notes that have a mark; neither tied, fingered nor of a voice.
        tremolo: As of an `Event`, and so are the others.
    """

    notes: tuple[Tone, ...] = ()
    tremolo: bool = False
    accent: bool = False
    staccato: bool = False
    damp: bool = False
    roll: Direction | None = None
    grace: tuple[Tone, ...] = ()


class Proposed(Value):
    """A pitch that was heard in a recording and that nobody has confirmed yet.

    Attributes:
        pitch: MIDI note number.
        sure: How sure the ear is, in percent.
        others: What else it could be, the likeliest first.
    """

    pitch: Pitch
    sure: Annotated[int, Limits(ge=0, le=100)]
    others: Annotated[tuple[Pitch, ...], Limits(max_length=4)] = ()


class SourceEvent(Value):
    """A moment of the original line: MIDI note numbers (none for a rest), tied or not to the moment before.

    Attributes:
        duration: As written.
        pitches: What sounds.
        tied: All of it is held from the moment before.
        held: Those of the pitches that are held from the moment before, where not all are.
        marks: How the original is articulated there; None where nothing is marked.
        proposed: Those of the pitches that begin here and that were heard, but not confirmed.
    """

    duration: Duration
    pitches: tuple[Annotated[int, Limits(ge=0, le=127)], ...] = ()
    tied: bool = False
    held: tuple[int, ...] = ()
    marks: Marks | None = None
    proposed: tuple[Proposed, ...] = ()

    def __post_init__(self) -> None:
        if self.held and (self.tied or not set(self.held) < set(self.pitches)):
            raise ScoreError("only some of the pitches may be held", hint="if all are held, write tied")
        marked = {tone.pitch for tone in self.marks.notes} if self.marks else set()
        if self.marks and (not self.pitches or not marked <= set(self.pitches)):
            raise ScoreError("marks of the original line are on pitches that do not sound")
        if any(each.pitch not in self.pitches or self.holds(each.pitch) for each in self.proposed):
            raise ScoreError("a proposed pitch must sound and begin there")

    @classmethod
    def of(cls, duration: Duration, pitches: Sequence[int], held: Collection[int]) -> Self:
        """A moment in which some pitches are held, all of them, or none."""
        some = tuple(pitch for pitch in pitches if pitch in held)
        tied = bool(pitches) and len(some) == len(pitches)
        return cls(duration=duration, pitches=tuple(pitches), tied=tied, held=() if tied else some)

    def holds(self, pitch: int) -> bool:
        """Whether a pitch is held from the moment before."""
        return pitch in (self.pitches if self.tied else self.held)
