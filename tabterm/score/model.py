"""The score: head, measures, events and notes; frozen, and valid by construction.

Whatever breaks a rule of one measure cannot be built as a `Measure`; whatever breaks a rule between measures
cannot be built as a `Score`. Both raise ScoreError. Rules that a player may break on purpose or by the way
(a reach no hand has, a slur that cannot sound) are findings of `tabterm.hand`, not errors of the model.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any

from tabterm.errors import ScoreError
from tabterm.forms import Limits
from tabterm.instrument import PRESETS, Instrument
from tabterm.instrument.model import MAX_FRETS
from tabterm.score.duration import Duration, one, total
from tabterm.score.key import C_MAJOR, Key
from tabterm.score.kinds import Barline, Break, ChordNames, Direction, Reached, Stroke, StrokeSchool
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.profile import HandProfile
from tabterm.score.seams import check_seam
from tabterm.score.source import Bend, Finger, SourceEvent
from tabterm.score.tempo import Tempo
from tabterm.values import Quarters, Value

if TYPE_CHECKING:
    from collections.abc import Iterator

OF_QUARTERS = (Fraction(0), Fraction(2, 3), Fraction(1), Fraction(4, 3))  #: quarters; definition
"""Places in a half note on which quarters and their triplets begin."""

Text = Annotated[str, Limits(max_length=500)]


class Note(Value):
    """One stopped or open course.

    Attributes:
        course: 1 = highest.
        fret: 0 = open.
        finger: The player's choice, or None.
        proposed_finger: The program's proposal, or None; never overrides `finger`.
        course_set: The player holds to this course: no proposal moves the note to another.
        reached: Struck, or slurred from the event before (see `Reached`).
        tied: Goes on from the same note of the event before, without a new attack.
        bend: Or None.
        slide_in: Slid into from no particular fret: UP comes from below. None for most notes.
        slide_out: Slid off to no particular fret. None for most notes.
        muted: A dead note; the fret says where the finger damps.
        ring: Let it sound on over what follows.
        vibrato: Shaken.
    """

    course: Annotated[int, Limits(ge=1, le=8)]
    fret: Annotated[int, Limits(ge=0, le=MAX_FRETS)]
    finger: Finger | None = None
    proposed_finger: Finger | None = None
    course_set: bool = False
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
        """Sounded by the left hand, without a stroke."""
        return self.reached is not Reached.STRUCK

    @property
    def is_struck(self) -> bool:
        """Sounded by a stroke of its own: neither slurred nor tied."""
        return not self.slurred and not self.tied

    @property
    def spot(self) -> tuple[int, int]:
        """Course and fret: what a tie to it has to come from."""
        return self.course, self.fret

    @property
    def finger_shown(self) -> int | None:
        """The player's finger, or else the proposed one."""
        return self.proposed_finger if self.finger is None else self.finger


OF_NOTES = (
    *("stroke", "proposed_stroke", "tremolo", "proposed_tremolo"),
    *("accent", "staccato", "damp", "roll", "grace"),
)
"""Fields of an event that say something of its notes, and so nothing of a rest."""


class Event(Value):
    """What happens at one moment: a rest (no notes), a note, or a double stop (2 to 4 notes).

    Attributes:
        duration: Symbolic duration.
        notes: Highest course first, each course once.
        stroke: The player's choice, or None.
        proposed_stroke: The program's proposal, or None where no stroke is taken.
        tremolo: Picked as a tremolo for its whole length.
        proposed_tremolo: The same, as the program proposes it.
        accent: Stressed.
        staccato: Cut short.
        damp: The hand damps all that rings where the event ends.
        roll: The courses are struck one after the other, slowly enough to hear.
        grace: Grace notes before the event, in playing order; one course each.
    """

    duration: Duration
    notes: tuple[Note, ...] = ()
    stroke: Stroke | None = None
    proposed_stroke: Stroke | None = None
    tremolo: bool = False
    proposed_tremolo: bool = False
    accent: bool = False
    staccato: bool = False
    damp: bool = False
    roll: Direction | None = None
    grace: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        notes = self.notes
        if len(notes) > 1 and any(a.course >= b.course for a, b in pairwise(notes)):
            raise ScoreError("the notes of an event must be in course order, each course once")
        if not notes and any(getattr(self, field) for field in OF_NOTES):
            raise ScoreError("a rest takes no stroke, tremolo, accent, staccato, damp, roll or grace note")
        for note in notes:
            if note.tied and note.reached is not Reached.STRUCK:
                raise ScoreError("a note is either tied or slurred, not both")

    @property
    def length(self) -> Fraction:
        """Length in quarters."""
        return self.duration.length

    @property
    def is_rest(self) -> bool:
        """No note sounds."""
        return not self.notes

    @cached_property
    def takes_stroke(self) -> bool:
        """At least one note, or else a grace note before them, is struck."""
        return self.is_struck or any(note.is_struck for note in self.grace)

    @property
    def is_struck(self) -> bool:
        """At least one note is struck, whatever the grace notes do."""
        return any(note.is_struck for note in self.notes)

    @property
    def tremolo_shown(self) -> bool:
        """A tremolo, by the player's choice or as proposed."""
        return self.tremolo or self.proposed_tremolo

    @property
    def stroke_shown(self) -> Stroke | None:
        """The player's stroke, or else the proposed one."""
        return self.stroke or self.proposed_stroke

    def on_course(self, course: int) -> Note | None:
        """The note on a course, or None."""
        return next((note for note in self.notes if note.course == course), None)


class ChordMark(Value):
    """A chord symbol over a moment of a measure; the text is the player's own spelling."""

    offset: Quarters
    symbol: Annotated[str, Limits(min_length=1, max_length=24, pattern=r"^\S+$")]


class HeardChord(ChordMark):
    """A chord that was heard in a recording and that nobody has confirmed yet; `sure` in percent."""

    sure: Annotated[int, Limits(ge=0, le=100)]


@lru_cache(maxsize=4096)
def _rhythm(durations: tuple[Duration, ...]) -> tuple[Fraction, tuple[Fraction, ...]]:
    """Length and onsets of events of these durations; remembered, for rhythms come again and again."""
    at, onsets = Fraction(0), []
    for duration in durations:
        onsets.append(at)
        at += duration.length
    return one(at), tuple(onsets)


class Signs(Value):
    """What is written over, before and behind a measure, whatever sounds in it.

    Attributes:
        short: Declared shorter than its metre: a pickup, or the other half of a measure split by a repeat.
        metre: New time signature from here, or None.
        key: New key from here, or None.
        tempo: New tempo from here, or None.
        school: Another school of strokes from here, or None.
        chords: Chord symbols by offset.
        heard_chords: Those that are only proposed, by offset; nothing but the chord row shows them.
        barline: Line at the end.
        repeat_start: A repeated passage starts here.
        repeat_times: A repeated passage ends here and is played this many times in all (0: none ends).
        endings: Numbers of the passes in which this measure is played (first ending: 1); empty for all.
        section: Mark such as `A` or `Bridge`, or "".
        remark: The teacher's words, or "".
        break_before: The system or page of a printed sheet that begins with it, or None: wherever it falls.
    """

    short: bool = False
    metre: Metre | None = None
    key: Key | None = None
    tempo: Tempo | None = None
    school: StrokeSchool | None = None
    chords: tuple[ChordMark, ...] = ()
    heard_chords: tuple[HeardChord, ...] = ()
    barline: Barline = Barline.SINGLE
    repeat_start: bool = False
    repeat_times: Annotated[int, Limits(ge=0, le=99)] = 0
    endings: tuple[Annotated[int, Limits(ge=1, le=99)], ...] = ()
    section: Annotated[str, Limits(max_length=40)] = ""
    remark: Text = ""
    break_before: Break | None = None


class Measure(Signs):
    """One measure, whole for its metre unless it says that it is short.

    Attributes:
        events: What happens, in order, without gaps.
        source: The original line over the same time, for comparing; may be empty.
    """

    events: Annotated[tuple[Event, ...], Limits(min_length=1)]
    source: tuple[SourceEvent, ...] = ()

    def __post_init__(self) -> None:
        """Once for each measure, however many scores share it."""
        _ = self.holds_together

    @cached_property
    def has_h(self) -> bool:
        """Whether a chord symbol over it is an H, as German ones are."""
        return any(mark.symbol.lstrip("([")[:1] == "H" for mark in self.chords)

    @cached_property
    def holds_together(self) -> bool:
        """True; raises ScoreError where something in the measure contradicts something else in it."""
        before = self.events[0]
        for event in self.events[1:]:
            check_seam(before, event)
            before = event
        for marks in filter(None, (self.chords, self.heard_chords)):
            offsets = [mark.offset for mark in marks]
            if offsets != sorted(set(offsets)) or offsets[-1] >= self.length:
                raise ScoreError("chord symbols must be in order, one to an offset, inside their measure")
        if self.repeat_times == 1:
            raise ScoreError("a repeat is played at least twice", hint="use 0 for no repeat")
        written = [event.duration for event in self.source]
        as_played = written == [event.duration for event in self.events]
        if written and not as_played and total(duration.length for duration in written) != self.length:
            raise ScoreError("the original line must fill its measure")
        return True

    @cached_property
    def length(self) -> Fraction:
        """Sum of the events, in quarters."""
        return self._rhythm[0]

    @cached_property
    def onsets(self) -> tuple[Fraction, ...]:
        """Offset of each event, in quarters from the measure's start."""
        return self._rhythm[1]

    @property
    def _rhythm(self) -> tuple[Fraction, tuple[Fraction, ...]]:
        return _rhythm(tuple([event.duration for event in self.events]))

    @cached_property
    def proposes(self) -> bool:
        """Something in its source line was heard and is not confirmed."""
        return any(event.proposed for event in self.source)

    @cached_property
    def is_quick(self) -> bool:
        """Something begins or ends off the quarters and their triplets: eighths or what is quicker."""
        return any(at % 2 not in OF_QUARTERS for at in (*self.onsets, self.length))

    @cached_property
    def leans(self) -> bool:
        """A note of the first event is tied or slurred: it goes on from the measure before."""
        return any(note.tied or note.slurred for note in self.events[0].notes)

    def timed(self) -> Iterator[tuple[Fraction, Event]]:
        """Each event with its offset."""
        return zip(self.onsets, self.events, strict=True)

    def timed_source(self) -> Iterator[tuple[Fraction, SourceEvent]]:
        """Each moment of the source line with its offset."""
        at = Fraction(0)
        for event in self.source:
            yield at, event
            at += event.duration.length

    @cached_property
    def highest_course(self) -> int:
        """The largest course number used, 0 when silent."""
        return max((note.course for event in self.events for note in (*event.notes, *event.grace)), default=0)


class Swing(Value):
    """Long and short parts of a pair: eighths (`unit` 8) or sixteenths (16), as long:short = 2:1."""

    unit: Annotated[int, Limits(ge=8, le=16, multiple_of=8)] = 8
    long: Annotated[int, Limits(ge=1, le=99)] = 2
    short: Annotated[int, Limits(ge=1, le=99)] = 1


class Head(Value):
    """What holds for the whole score until a measure changes it.

    A score that carries no hand of its own is played by whoever opens it. One that does not say how chords are
    named has German names where one of them is an H. The foreword is the teacher's words to the student.
    """

    title: Annotated[str, Limits(max_length=200)] = ""
    credits: tuple[Text, ...] = ()
    instrument: Instrument = PRESETS["mandolin"]
    key: Key = C_MAJOR
    metre: Metre = COMMON_TIME
    tempo: Tempo = Tempo(100.0)
    swing: Swing | None = None
    hand: HandProfile | None = None
    school: StrokeSchool = StrokeSchool.BEAT
    chord_names: ChordNames | None = None
    foreword: Annotated[str, Limits(max_length=2000)] = ""


class Score(Value):
    """A head and its measures.

    Raises ScoreError when a measure is not whole, a course does not exist on the instrument, or a tie or
    slur over a bar line has no partner.
    """

    head: Head = Head()
    measures: Annotated[tuple[Measure, ...], Limits(min_length=1)]

    def __post_init__(self) -> None:
        before: Event | None = None
        courses = self.head.instrument.course_count
        counted, whole = self.head.metre, self.head.metre.length
        for number, (measure, metre) in enumerate(zip(self.measures, self.metres, strict=True), 1):
            if metre is not counted:
                counted, whole = metre, metre.length
            length = measure.length
            if length is not whole and length != whole and not (measure.short and length < whole):
                raise ScoreError(
                    f"its events last {length} quarters, but {metre} has {whole}",
                    place=f"measure {number}",
                )
            if measure.highest_course > courses:
                raise ScoreError(
                    f"this {self.head.instrument.name} has no course {measure.highest_course}",
                    place=f"measure {number}",
                )
            if measure.leans:
                try:
                    check_seam(before, measure.events[0])
                except ScoreError as error:
                    raise ScoreError(error.message, hint=error.hint, place=f"measure {number}") from None
            before = measure.events[-1]

    def _in_force(self, name: str) -> tuple[Any, ...]:
        """What the head says by a name, or the last measure that says otherwise, for each measure."""
        current, found = getattr(self.head, name), []
        for measure in self.measures:
            current = getattr(measure, name) or current
            found.append(current)
        return tuple(found)

    @cached_property
    def metres(self) -> tuple[Metre, ...]:
        """The metre in force in each measure."""
        return self._in_force("metre")

    @cached_property
    def lead_ins(self) -> tuple[Fraction, ...]:
        """Quarters that each measure lacks at its front: as a pickup, or as the rest of a measure that is parted.

        A short measure is a pickup at the beginning, behind another short one that it makes whole or nearly so,
        or where a part begins; not as an ending.
        """
        found: list[Fraction] = []
        before: Measure | None = None
        for measure, metre in zip(self.measures, self.metres, strict=True):
            lacks = metre.length - measure.length
            leads = measure.short and not measure.endings
            if leads and before is not None:
                if before.short and not found[-1]:
                    leads = before.length <= lacks
                else:
                    leads = (
                        bool(measure.repeat_start or before.repeat_times) or before.barline is not Barline.SINGLE
                    )
            found.append(lacks if leads else Fraction(0))
            before = measure
        return tuple(found)

    @cached_property
    def keys(self) -> tuple[Key, ...]:
        """The key in force in each measure."""
        return self._in_force("key")

    @cached_property
    def schools(self) -> tuple[StrokeSchool, ...]:
        """The school of strokes in force in each measure."""
        return self._in_force("school")

    @cached_property
    def chord_names(self) -> ChordNames:
        """How the chord symbols are named: as the head says, else German where one of them is an H."""
        german = any(measure.has_h for measure in self.measures)
        return self.head.chord_names or (ChordNames.GERMAN if german else ChordNames.ENGLISH)

    @cached_property
    def tempos(self) -> tuple[Tempo, ...]:
        """The tempo in force in each measure."""
        return self._in_force("tempo")
