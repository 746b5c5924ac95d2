"""Writing the notes of one staff of a measure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.musicxml.grouping import Ends, beams_of, tuplets_of
from tabterm.formats.musicxml.harmony import write_harmony
from tabterm.formats.musicxml.notes import DAMP, HELD, NO_STROKE, PROPOSED
from tabterm.formats.musicxml.signatures import HIGHEST_OCTAVE, Accidentals, Shown, spelled
from tabterm.formats.musicxml.tree import Node
from tabterm.formats.musicxml.values import NAMES
from tabterm.score.kinds import BendShape, Direction, Reached, Stroke
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from tabterm.formats.musicxml.grouping import NotePlace
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.instrument import Instrument
    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Note
    from tabterm.score.source import Bend

BOWS = {Stroke.DOWN: "down-bow", Stroke.UP: "up-bow"}
SLIDES_IN = {Direction.UP: "scoop", Direction.DOWN: "plop"}
SLIDES_OUT = {Direction.UP: "doit", Direction.DOWN: "falloff"}
LETTERS = {Reached.HAMMER: ("hammer-on", "H"), Reached.PULL: ("pull-off", "P")}
TREMOLO_STROKES = 3
AS_PROPOSED = {PROPOSED[0].replace("-", "_"): PROPOSED[1]}
AS_HELD = {HELD[0].replace("-", "_"): HELD[1]}


@dataclass(frozen=True, slots=True)
class Staff:
    """A staff to be written.

    Attributes:
        number: From 1; 0 where the part has one staff only.
        voice: As the file names it.
        is_notation: Notes with stems, beams and accidentals; otherwise numbers on the lines of a tablature.
        has_strings: Courses and frets, and what is played between them, stand on it.
        has_marks: Fingers, strokes, articulations and chord symbols stand on it.
    """

    number: int
    voice: int
    is_notation: bool
    has_strings: bool
    has_marks: bool


@dataclass(frozen=True, slots=True)
class Setting:
    """What holds while the notes of a measure are written.

    Attributes:
        index: Of the measure.
        divisions: Of a quarter.
        metre: In force.
        key: In force.
        lead: Where in the metre the measure begins, in quarters.
        instrument: Of the score.
        ends: Of ties and slurs, for the whole score.
        accidentals: What has been shown in the measure, and what the one before altered.
        german: Chord symbols have German names.
    """

    index: int
    divisions: int
    metre: Metre
    key: Key
    lead: Fraction
    instrument: Instrument
    ends: Mapping[NotePlace, Ends]
    accidentals: Accidentals
    german: bool


class StaffWriter:
    """Writes one staff of one measure."""

    def __init__(self, node: Node, measure: Measure, staff: Staff, setting: Setting, report: XmlReporter) -> None:
        self._node = node
        self._measure = measure
        self._staff = staff
        self._setting = setting
        self._report = report
        self._beams = beams_of(measure, setting.metre, setting.lead) if staff.is_notation else {}
        self._tuplets = tuplets_of(measure.events)

    def write(self) -> None:
        """Append every event, chord symbols where they begin."""
        marks = list(self._measure.chords) if self._staff.has_marks else []
        for number, (onset, event) in enumerate(self._measure.timed()):
            end = onset + event.length
            while marks and marks[0].offset < end:
                mark = marks.pop(0)
                offset = mark.offset - onset
                place = self._divisions(offset) if offset else ""
                write_harmony(self._node, mark.symbol, place, german=self._setting.german)
            self._event(number, event)

    def _divisions(self, length: Fraction) -> str:
        return str(length * self._setting.divisions)

    def _event(self, number: int, event: Event) -> None:
        for place, note in enumerate(event.grace):
            node = self._node.add("note")
            node.add("grace", slash="yes")
            self._note(node, event, number, place, note, is_first=True)
        for place, note in enumerate(event.notes):
            node = self._node.add("note")
            if place:
                node.add("chord")
            self._note(node, event, number, -1, note, is_first=place == 0)
        if event.is_rest:
            node = self._node.add("note")
            node.add("rest")
            node.add("duration", self._divisions(event.length))
            self._value(node, event, Shown(""))
            self._after_value(node, number, event, is_first=True)

    def _note(self, node: Node, event: Event, number: int, grace: int, note: Note, *, is_first: bool) -> None:
        ends = self._setting.ends.get((self._setting.index, number, grace, note.course), Ends())
        is_grace = grace >= 0
        accidental = self._pitch(node, note)
        if not is_grace:
            node.add("duration", self._divisions(event.length))
        ties = [kind for kind, there in (("stop", note.tied), ("start", ends.tie_start)) if there]
        for kind in ties:
            node.add("tie", type=kind)
        if is_grace:
            node.add("voice", self._staff.voice)
            node.add("type", NAMES[8])
            self._accidental(node, accidental)
            self._stem(node)
        else:
            self._value(node, event, accidental)
        if note.muted:
            node.add("notehead", "x")
        self._after_value(node, number, None if is_grace else event, is_first=is_first)
        notations = Node("notations")
        for kind in ties:
            notations.add("tied", type=kind)
        if note.ring:
            notations.add("tied", type="let-ring")
        if not is_grace and is_first:
            self._tuplet(notations, number)
        self._between(notations, ends)
        if self._staff.has_strings:
            self._strings(notations, note, ends)
        if self._staff.has_marks:
            self._marks(notations, note)
            if not is_grace:
                self._event_marks(notations, event, is_first=is_first)
        if notations.children:
            existing = node.child("notations")
            if existing is None:
                node.children.append(notations)
            else:
                existing.children += notations.children

    # What every note has

    def _pitch(self, node: Node, note: Note) -> Shown:
        """Append the pitch, and return the accidental to show."""
        sounding = self._setting.instrument.pitch(note.course, note.fret)
        step, alter, octave = spelled(sounding, self._setting.key)
        within = min(max(octave, 0), HIGHEST_OCTAVE)
        if within != octave:
            message = "pitches outside the octaves 0 to 9 are moved into them"
            self._report.changed(message, place=Place(self._setting.index))
        pitch = node.add("pitch")
        pitch.add("step", step)
        if alter:
            pitch.add("alter", alter)
        pitch.add("octave", within)
        if not self._staff.is_notation:
            return Shown("")
        return self._setting.accidentals.name((step, alter, within), tied=note.tied)

    def _value(self, node: Node, event: Event, accidental: Shown) -> None:
        duration = event.duration
        node.add("voice", self._staff.voice)
        node.add("type", NAMES[duration.value])
        for _ in range(duration.dots):
            node.add("dot")
        self._accidental(node, accidental)
        if duration.tuplet is not None:
            ratio = node.add("time-modification")
            ratio.add("actual-notes", duration.tuplet.actual)
            ratio.add("normal-notes", duration.tuplet.normal)
        if not event.is_rest:
            self._stem(node)

    def _accidental(self, node: Node, accidental: Shown) -> None:
        if accidental.name:
            node.add("accidental", accidental.name, **({"cautionary": "yes"} if accidental.is_courtesy else {}))

    def _stem(self, node: Node) -> None:
        if not self._staff.is_notation:
            node.add("stem", "none")

    def _after_value(self, node: Node, number: int, event: Event | None, *, is_first: bool) -> None:
        """Append staff and beams and, for a rest, the bracket of its tuplet."""
        if self._staff.number:
            node.add("staff", self._staff.number)
        if event is not None and is_first:
            for level, beam in enumerate(self._beams.get(number, ()), 1):
                node.add("beam", beam, number=level)
        if event is not None and event.is_rest and number in self._tuplets:
            self._tuplet(node.add("notations"), number)

    def _tuplet(self, notations: Node, number: int) -> None:
        for kind in self._tuplets.get(number, ()):
            notations.add("tuplet", type=kind, number=1)

    # Marks

    def _between(self, notations: Node, ends: Ends) -> None:
        """Append slurs and slides to the notes beside; on both staves, as each is drawn."""
        for kind, pairs in (("stop", ends.stops), ("start", ends.starts)):
            for reached, number in pairs:
                if reached is Reached.SLIDE:
                    notations.add("slide", type=kind, number=number, line_type="solid")
                else:
                    notations.add("slur", type=kind, number=number)

    def _strings(self, notations: Node, note: Note, ends: Ends) -> None:
        technical = notations.add("technical")
        technical.add("string", note.course, **(AS_HELD if note.course_set else {}))
        technical.add("fret", note.fret)
        for kind, pairs in (("stop", ends.stops), ("start", ends.starts)):
            for reached, number in pairs:
                if reached in LETTERS:
                    tag, letter = LETTERS[reached]
                    technical.add(tag, letter if kind == "start" else "", type=kind, number=number)
        if note.bend is not None:
            _add_bend(technical, note.bend)
        if note.vibrato:
            ornaments = notations.add("ornaments")
            for kind in ("start", "stop"):
                ornaments.add("wavy-line", type=kind, number=1)
        slides = ((SLIDES_IN, note.slide_in), (SLIDES_OUT, note.slide_out))
        if note.slide_in or note.slide_out:
            articulations = notations.add("articulations")
            for table, direction in slides:
                if direction is not None:
                    articulations.add(table[direction])

    def _marks(self, notations: Node, note: Note) -> None:
        """Append the finger, a proposed one in italics."""
        if note.finger_shown is not None:
            technical = notations.child("technical") or notations.add("technical")
            technical.add("fingering", note.finger_shown, **({} if note.finger is not None else AS_PROPOSED))

    def _event_marks(self, notations: Node, event: Event, *, is_first: bool) -> None:
        if event.roll is not None:
            notations.add("arpeggiate", direction=event.roll.value)
        if not is_first:
            return
        stroke = event.stroke_shown
        if stroke is not None:
            technical = notations.child("technical") or notations.add("technical")
            if stroke in BOWS:
                technical.add(BOWS[stroke], **({} if event.stroke is not None else AS_PROPOSED))
            else:
                technical.add("other-technical", NO_STROKE)
        if event.tremolo_shown:
            ornaments = notations.child("ornaments") or notations.add("ornaments")
            proposed = {} if event.tremolo else AS_PROPOSED
            ornaments.add("tremolo", TREMOLO_STROKES, type="single", **proposed)
        if event.accent or event.staccato or event.damp:
            articulations = notations.child("articulations") or notations.add("articulations")
            for tag, there in (("accent", event.accent), ("staccato", event.staccato)):
                if there:
                    articulations.add(tag)
            if event.damp:
                articulations.add("other-articulation", DAMP)


def _add_bend(technical: Node, bend: Bend) -> None:
    """Append a bend; up and back are two, struck bent and let down as well."""
    semitones = f"{bend.cents / 100:g}"
    first = technical.add("bend")
    first.add("bend-alter", semitones)
    if bend.shape is BendShape.FALL:
        first.add("pre-bend")
    if bend.shape is not BendShape.RISE:
        back = technical.add("bend")
        back.add("bend-alter", f"-{semitones}")
        back.add("release")
