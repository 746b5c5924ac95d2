"""Reading a score as an engraver does: what stands on the staff at each moment, before any place is known.

Rules of notation that are named nowhere else here are after Gould 2011, "Behind Bars", from memory.
"""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.formats.musicxml.grouping import LEVELS, beams_of
from tabterm.formats.musicxml.signatures import Accidentals, spelled
from tabterm.formats.musicxml.writer import CLEFS
from tabterm.score.duration import tuplet_groups
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Measure, Note
from tabterm.score.place import lead_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.score.duration import Duration
    from tabterm.score.key import Key
    from tabterm.score.model import Score
    from tabterm.sheet.layout import Layout

MIDDLE = 4
"""Steps from the lowest line to the middle one."""


class Clef(NamedTuple):
    """A clef: its sign, the line that it stands on, the step of the lowest line counted from C0."""

    glyph: str
    line: int
    lowest: int


CLEF_SIGNS = {("G", 0): Clef("gClef", 3, 30), ("G", -1): Clef("gClef8vb", 3, 23), ("F", 0): Clef("fClef", 1, 18)}
"""By sign and octaves, as MusicXML names them."""


def clef_of(score: Score) -> Clef:
    """The clef of an instrument, by its lowest open course; the same that MusicXML gets."""
    return _clef(min(course.pitch for course in score.head.instrument.courses))


def source_clef_of(score: Score) -> Clef:
    """The clef of the original line, by its lowest note."""
    pitches = (pitch for measure in score.measures for event in measure.source for pitch in event.pitches)
    return _clef(min(pitches, default=CLEFS[0][0]))


def _clef(lowest: int) -> Clef:
    sign, _, octaves = next(each[1:] for each in CLEFS if lowest >= each[0])
    return CLEF_SIGNS[sign, octaves]


@dataclass(slots=True)
class Head:
    """A notehead.

    Attributes:
        step: Above the lowest line of the staff, lines and spaces counted.
        name: Its pitch, such as `F#5`.
        accidental: As MusicXML names it, or "".
        note: The note that it stands for; None in an original line.
        tied: It is held from the moment before.
        shifted: It stands on the other side of the stem.
        accidental_x: Where its accidental begins, from the chord's zero line.
    """

    step: int
    name: str
    accidental: str
    note: Note | None
    tied: bool = False
    shifted: bool = False
    accidental_x: float = 0.0

    @property
    def y(self) -> float:
        """Its height on the staff, whose top line is 0."""
        return (8 - self.step) / 2

    @property
    def has_ledger(self) -> bool:
        """It stands on or beyond a ledger line."""
        return self.step < -1 or self.step > 9

    @property
    def course(self) -> int | None:
        """The course of its note."""
        return None if self.note is None else self.note.course


@dataclass(slots=True)
class Chord:
    """What begins at a moment of a measure: a rest (no heads), a note, or several.

    Attributes:
        measure: Index of the measure.
        number: Of the event in its measure.
        offset: In quarters from the measure's start.
        duration: As written.
        heads: The lowest first.
        event: None in an original line.
        graces: The grace notes before it, in playing order.
        stem_up: The stem goes up.
        beams: What each of its beams does, as MusicXML says it, the outermost first.
        group: Numbers of the events under the same beam; empty without one.
        whole_rest: A rest that fills its measure: it stands in the middle.
        reach: How far its accidentals stand out to the left of its zero line.
        left: The same of all that stands there, slides and rolls too.
        outer: With the grace notes before it.
        right: How far heads and dots reach to the right.
    """

    measure: int
    number: int
    offset: Fraction
    duration: Duration
    heads: list[Head]
    event: Event | None = None
    graces: list[Head] = field(default_factory=list)
    stem_up: bool = True
    beams: list[str] = field(default_factory=list)
    group: tuple[int, ...] = ()
    whole_rest: bool = False
    reach: float = 0.0
    left: float = 0.0
    outer: float = 0.0
    right: float = 0.0

    @property
    def is_rest(self) -> bool:
        """Nothing sounds."""
        return not self.heads

    @property
    def has_stem(self) -> bool:
        """It is a note shorter than a whole one."""
        return bool(self.heads) and self.duration.value >= 2

    @property
    def flags(self) -> int:
        """Flags or beams of its value."""
        return LEVELS.get(self.duration.value, 0) if self.heads else 0

    @property
    def low(self) -> Head:
        """The lowest head."""
        return self.heads[0]

    @property
    def high(self) -> Head:
        """The highest head."""
        return self.heads[-1]


@dataclass(slots=True)
class Reading:
    """A measure as it is engraved: its chords, and first and last number of each tuplet among them."""

    index: int
    measure: Measure
    chords: list[Chord]
    tuplets: list[tuple[int, int]]
    source: list[Chord] = field(default_factory=list)
    source_tuplets: list[tuple[int, int]] = field(default_factory=list)


def read(score: Score, indices: Sequence[int], layout: Layout) -> list[Reading]:
    """Measures of a score as they are engraved; of a lead sheet the highest notes alone."""
    clefs = clef_of(score), source_clef_of(score)
    memory = _Memory()
    return [_read(score, index, clefs, layout, memory) for index in indices]


@dataclass(slots=True)
class _Memory:
    """What a measure leaves for the next: the key by which the note on each course was named, and accidentals."""

    held: dict[int, Key] = field(default_factory=dict)
    accidentals: Accidentals = field(default_factory=Accidentals)
    source: Accidentals = field(default_factory=Accidentals)


def _read(score: Score, index: int, clefs: tuple[Clef, Clef], layout: Layout, memory: _Memory) -> Reading:
    """A measure, after what the one before has left."""
    measure, metre, key = score.measures[index], score.metres[index], score.keys[index]
    instrument, held = score.head.instrument, memory.held
    memory.accidentals.begin(key)

    def head(note: Note) -> Head:
        """Its head; a note that is held over the bar line keeps the name it had, whatever the new key."""
        held[note.course] = spelling = held.get(note.course, key) if note.tied else key
        pitch = instrument.pitch(note.course, note.fret)
        return _head(pitch, spelling, clefs[0], memory.accidentals, note=note, tied=note.tied)

    chords = []
    for number, (offset, event) in enumerate(measure.timed()):
        graces = [head(note) for note in event.grace]
        notes = sorted(event.notes, key=lambda note: instrument.pitch(note.course, note.fret))
        heads = [head(note) for note in (notes[-1:] if layout.parts == "lead" else notes)]
        chord = Chord(index, number, offset, event.duration, heads, event, graces)
        chord.whole_rest = event.is_rest and len(measure.events) == 1 and not measure.short
        chords.append(chord)
    lead = lead_in(score, index)
    _beam(chords, measure, metre, lead)
    reading = Reading(index, measure, chords, tuplet_groups([event.duration for event in measure.events]))
    if layout.original and measure.source:
        _read_source(reading, key, clefs[1], memory.source)
        _beam(reading.source, _as_events(measure), metre, lead)
    return reading


def _beam(chords: list[Chord], measure: Measure, metre: Metre, lead: Fraction) -> None:
    """Find the beams of chords by the events that they stand for, and the direction of their stems."""
    for number, states in beams_of(measure, _beam_metre(measure, metre, lead), lead).items():
        chords[number].beams = states
    _direct(chords)


def _as_events(measure: Measure) -> Measure:
    """The rhythm of the original line of a measure, as events."""
    return Measure(
        short=True,
        events=tuple(
            Event(duration=event.duration, notes=(Note(course=1, fret=0),) if event.pitches else ())
            for event in measure.source
        ),
    )


def _read_source(reading: Reading, key: Key, clef: Clef, accidentals: Accidentals) -> None:
    accidentals.begin(key)
    for number, (offset, event) in enumerate(reading.measure.timed_source()):
        heads = [
            _head(pitch, key, clef, accidentals, note=None, tied=event.holds(pitch))
            for pitch in sorted(event.pitches)
        ]
        reading.source.append(Chord(reading.index, number, offset, event.duration, heads))
    reading.source_tuplets = tuplet_groups([event.duration for event in reading.measure.source])


def _head(pitch: int, key: Key, clef: Clef, accidentals: Accidentals, *, note: Note | None, tied: bool) -> Head:
    letter, alter, octave = spelled(pitch, key)
    step = octave * 7 + "CDEFGAB".index(letter) - clef.lowest
    name = f"{letter}{'#' * alter if alter > 0 else 'b' * -alter}{octave}"
    return Head(step, name, accidentals.name((letter, alter, octave), tied=tied).name, note, tied)


def _beam_metre(measure: Measure, metre: Metre, lead: Fraction) -> Metre:
    """The metre by whose beats notes are beamed: eighths go together by half measures, or by the whole of 3/4."""
    if metre.groups or metre.unit != 4 or metre.count not in {2, 3, 4}:
        return metre
    size = 3 if metre.count == 3 else 2
    groups: list[int] = []
    for first in range(0, metre.count, size):
        within = [
            event
            for offset, event in measure.timed()
            if offset + lead + event.length > first and offset + lead < first + size
        ]
        plain = all(event.duration.value <= 8 and event.duration.tuplet is None for event in within)
        all_quick = size == 2 or all(event.duration.value == 8 and not event.is_rest for event in within)
        groups += [size] if plain and all_quick else [1] * size
    return Metre(metre.count, metre.unit, tuple(groups))


def _direct(chords: list[Chord]) -> None:
    """Find the direction of every stem, a beam's by all its notes; then what stands on its other side."""
    for run in _runs(chords):
        heads = [head for chord in run for head in chord.heads]
        if not heads:
            continue
        up = max(head.step for head in heads) - MIDDLE < MIDDLE - min(head.step for head in heads)
        for chord in run:
            chord.stem_up = up
            chord.group = tuple(each.number for each in run) if len(run) > 1 else ()
            _shift_seconds(chord)


def _runs(chords: list[Chord]) -> Iterator[list[Chord]]:
    run: list[Chord] = []
    for chord in chords:
        run.append(chord)
        if not chord.beams or chord.beams[0] == "end":
            yield run
            run = []
    if run:
        yield run


def _shift_seconds(chord: Chord) -> None:
    heads = chord.heads if chord.stem_up else chord.heads[::-1]
    before: Head | None = None
    for head in heads:
        head.shifted = before is not None and abs(head.step - before.step) < 2 and not before.shifted
        before = head
