"""Notes as the file writes them, before they are a line."""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.musicxml.values import number, pitch_of, whole, written_duration
from tabterm.score.kinds import BendShape
from tabterm.score.source import Bend

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node
    from tabterm.score.duration import Duration

MARKS = {
    "down-bow": "down",
    "up-bow": "up",
    "accent": "accent",
    "strong-accent": "accent",
    "staccato": "staccato",
    "staccatissimo": "staccato",
    "spiccato": "staccato",
    "scoop": "slide in up",
    "plop": "slide in down",
    "doit": "slide out up",
    "falloff": "slide out down",
}
"""Elements that mean the same as a mark of the model."""

SPANS = {"hammer-on": "hammer", "pull-off": "pull", "slide": "slide", "glissando": "slide"}
"""Elements with a start and a stop; the note at the stop is reached so."""

NO_STROKE = "no stroke"
"""What is written for a note that the player has decided to take no stroke on; the standard has no sign for it."""

DAMP = "damp"
"""What is written where all is damped; the standard has a sign for it at a moment (`damp-all`), none on a note."""

PROPOSED, HELD = ("font-style", "italic"), ("font-weight", "bold")
"""How proposals of the program, and numbers of held courses, are told from the player's own in our files."""

DEAD_HEADS = frozenset({"x", "circle-x", "cross"})
ROLLS = {"down": "roll down"}
FEWEST_TREMOLO_STROKES = 3
"""Two strokes through a stem are measured sixteenths; from three on a tremolo is meant (common practice, no
source)."""


@dataclass(slots=True)
class WrittenNote:
    """One note, rest or chord member of the file.

    Attributes:
        line: Line in the file.
        onset: Quarters from the start of its measure.
        length: Quarters; 0 for a grace note.
        duration: The note value written, or None where it says none that the model has.
        voice: As the file names it, or as it is counted where it does not.
        rank: Of the voice among those that sound and are read, 0 for the first or only one.
        staff: From 1.
        pitch: Sounding MIDI note number, None for a rest.
        is_chord: It sounds with the note before it.
        is_grace: A grace note.
        string: From 1 = highest, or None.
        fret: Or None.
        finger: Or None.
        bend: Or None.
        marks: Words of `MARKS` and the like.
        slurs: (True for a start, number).
    """

    line: int
    onset: Fraction
    length: Fraction
    duration: Duration | None
    voice: str = ""
    rank: int = 0
    staff: int = 1
    pitch: int | None = None
    is_chord: bool = False
    is_grace: bool = False
    string: int | None = None
    fret: int | None = None
    finger: int | None = None
    bend: Bend | None = None
    marks: set[str] = field(default_factory=set)
    slurs: list[tuple[bool, str]] = field(default_factory=list)

    @property
    def end(self) -> Fraction:
        """When it stops, in quarters from the start of its measure."""
        return self.onset + self.length


class NoteReader:
    """Reads `<note>` elements; what cannot be carried is reported."""

    def __init__(self, report: XmlReporter) -> None:
        self._report = report
        self._notations: dict[str, Callable[[WrittenNote, Node], None]] = {
            "articulations": self._signs,
            "technical": self._signs,
            "ornaments": self._signs,
            "tied": self._tied,
            "slur": self._slur,
            "slide": self._span,
            "glissando": self._span,
            "arpeggiate": self._roll,
        }
        self._kinds: dict[str, Callable[[WrittenNote, Node], None]] = {
            "string": self._string,
            "fret": self._fret,
            "fingering": self._finger,
            "open-string": self._open,
            "hammer-on": self._span,
            "pull-off": self._span,
            "bend": self._bend,
            "tremolo": self._tremolo,
            "wavy-line": self._wave,
            "other-technical": self._other,
            "other-articulation": self._other,
        }

    def read(self, node: Node, onset: Fraction, length: Fraction, transposed: int) -> WrittenNote:
        """The note of an element from `onset` on for `length`, sounding `transposed` semitones off."""
        note = WrittenNote(node.line, onset, length, None)
        kind, dots, actual, normal = "", 0, "", ""
        for child in node.children:
            tag = child.tag
            if tag == "pitch":
                self._pitch(note, child, transposed)
            elif tag == "type":
                kind = child.text.strip()
            elif tag == "dot":
                dots += 1
            elif tag == "voice":
                note.voice = child.text.strip()
            elif tag == "staff":
                note.staff = whole(child.text.strip()) or 1
            elif tag == "time-modification":
                actual, normal = child.word("actual-notes"), child.word("normal-notes")
            elif tag == "chord":
                note.is_chord = True
            elif tag == "grace":
                note.is_grace = True
            elif tag == "cue":
                note.marks.add("cue")
                self._report.leave_out(tag, child.line)
            elif tag == "tie":
                self._tied(note, child)
            elif tag == "notehead":
                if child.text.strip() in DEAD_HEADS:
                    note.marks.add("muted")
            elif tag == "notations":
                self._take_notations(note, child)
            elif tag not in {"rest", "duration"}:
                self._report.leave_out(tag, child.line)
        note.duration = written_duration(kind, dots, actual, normal)
        if "cue" in note.marks:
            note.pitch = None
        return note

    def _pitch(self, note: WrittenNote, node: Node, transposed: int) -> None:
        pitch, rounded = pitch_of(node)
        if pitch is None:
            self._report.changed("a pitch without a step or an octave is read as a rest", node.line)
            return
        if rounded:
            self._report.changed("microtones are rounded to semitones", node.line)
        pitch += transposed
        if not 0 <= pitch <= 127:
            self._report.changed("pitches outside the MIDI range are moved by octaves", node.line)
            pitch = pitch % 12 + (108 if pitch > 127 else 0)
        note.pitch = pitch

    def _take_notations(self, note: WrittenNote, notations: Node) -> None:
        for node in notations.children:
            take = self._notations.get(node.tag)
            if take is not None:
                take(note, node)
            else:
                self._report.leave_out(node.tag, node.line)

    def _signs(self, note: WrittenNote, signs: Node) -> None:
        for node in signs.children:
            mark = MARKS.get(node.tag)
            take = self._kinds.get(node.tag)
            if mark is not None:
                note.marks.add(f"proposed {mark}" if _is_proposed(node) else mark)
            elif take is not None:
                take(note, node)
            else:
                if node.tag == "trill-mark":
                    note.marks.add("trill")
                self._report.leave_out(node.tag, node.line)

    def _tied(self, note: WrittenNote, node: Node) -> None:
        mark = {"stop": "tied", "continue": "tied", "let-ring": "ring"}.get(node.get("type"))
        if mark:
            note.marks.add(mark)

    def _slur(self, note: WrittenNote, node: Node) -> None:
        kind, key = node.get("type"), node.get("number") or "1"
        if kind in {"start", "stop"}:
            note.slurs.append((kind == "start", key))

    def _span(self, note: WrittenNote, node: Node) -> None:
        note.marks.add(f"{SPANS[node.tag]} {'from' if node.get('type') == 'start' else 'to'}")

    def _roll(self, note: WrittenNote, node: Node) -> None:
        note.marks.add(ROLLS.get(node.get("direction"), "roll up"))

    def _string(self, note: WrittenNote, node: Node) -> None:
        note.string = whole(node.text.strip())
        if HELD[1] == node.get(HELD[0]):
            note.marks.add("held")

    def _fret(self, note: WrittenNote, node: Node) -> None:
        note.fret = whole(node.text.strip())

    def _open(self, note: WrittenNote, _node: Node) -> None:
        note.finger = 0

    def _finger(self, note: WrittenNote, node: Node) -> None:
        if "yes" in (node.get("alternate"), node.get("substitution")):
            self._report.left_out("alternative fingers are left out", node.line)
            return
        finger = whole(node.text.strip())
        if finger is None or not 0 <= finger <= 4:
            if node.text.strip():
                self._report.left_out("fingers other than 0 to 4 are left out", node.line)
        elif _is_proposed(node):
            note.marks.add(f"proposed finger {finger}")
        else:
            note.finger = finger

    def _bend(self, note: WrittenNote, node: Node) -> None:
        """A bend, or the second part of one that goes up and back."""
        amount = number(node.word("bend-alter")) or Fraction(0)
        cents = min(max(round(abs(amount) * 100), 5), 400)
        if node.child("release") is not None and note.bend is not None:
            back = BendShape.FALL if "pre-bend" in note.marks else BendShape.RISE_AND_FALL
            note.bend = note.bend.with_(shape=back)
            return
        shape = BendShape.RISE
        if node.child("pre-bend") is not None:
            note.marks.add("pre-bend")
            shape = BendShape.FALL
        elif node.child("release") is not None or amount < 0:
            shape = BendShape.FALL
        if abs(amount) * 100 != cents:
            self._report.changed(
                "bends wider than two whole tones, or of none, are read as the nearest", node.line
            )
        note.bend = Bend(cents=cents, shape=shape)

    def _tremolo(self, note: WrittenNote, node: Node) -> None:
        kind = node.get("type", "single")
        strokes = whole(node.text.strip()) or 0
        if kind in {"start", "stop"}:
            self._report.left_out("tremolos between two notes are left out", node.line)
        elif kind == "unmeasured" or strokes == 0 or strokes >= FEWEST_TREMOLO_STROKES:
            note.marks.add("proposed tremolo" if _is_proposed(node) else "tremolo")
        else:
            self._report.changed("measured tremolos are read as plain tremolos", node.line)
            note.marks.add("tremolo")

    def _wave(self, note: WrittenNote, node: Node) -> None:
        note.marks.add({"start": "wave from", "stop": "wave to"}.get(node.get("type"), "vibrato"))

    def _other(self, note: WrittenNote, node: Node) -> None:
        mark = {NO_STROKE: "none", DAMP: "damp"}.get(node.text.strip())
        if mark:
            note.marks.add(mark)
        else:
            self._report.leave_out(node.tag, node.line)


def _is_proposed(node: Node) -> bool:
    return node.attributes.get(PROPOSED[0]) == PROPOSED[1]
