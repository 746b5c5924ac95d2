"""Walking through the measures of a part: what begins when."""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.formats.musicxml.directions import read_break
from tabterm.formats.musicxml.notes import NoteReader, WrittenNote
from tabterm.formats.musicxml.values import number, quarters, whole

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.formats.musicxml.parts import XmlPart
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tree import Node
    from tabterm.score.kinds import Break

Timed = tuple[Fraction, "Node"]
"""An element and its offset in quarters from the start of its measure."""


ALL_STAVES, FIRST_STAFF = 0, 1


@dataclass(slots=True)
class XmlBar:
    """A measure of the file, taken apart.

    Attributes:
        label: The element with the measure's number.
        notes: Its notes and rests in the order of the file.
        length: Quarters up to the last moment that any voice reaches.
        signs: Children of `<attributes>`.
        directions: `<direction>` and `<sound>`.
        harmonies: Chord symbols.
        barlines: Bar lines.
        begins: The system or page that the file begins with it, or None.
        transposed: Semitones from what is written on the first staff to what sounds.
    """

    label: Node
    notes: list[WrittenNote] = field(default_factory=list)
    length: Fraction = Fraction(0)
    signs: list[Timed] = field(default_factory=list)
    directions: list[Timed] = field(default_factory=list)
    harmonies: list[Timed] = field(default_factory=list)
    barlines: list[Node] = field(default_factory=list)
    begins: Break | None = None
    transposed: int = 0

    @property
    def place(self) -> str:
        """Where it stands, for messages."""
        return f"line {self.label.line}, measure {self.label.get('number'):.10}"

    @property
    def is_empty(self) -> bool:
        """Nothing sounds in it."""
        return all(note.pitch is None for note in self.notes)


class Walker:
    """Goes through the measures of a part with what holds from one to the next."""

    def __init__(self, report: XmlReporter) -> None:
        self._report = report
        self._reader = NoteReader(report)
        self._divisions = Fraction(1)
        self._transposed: dict[int, int] = {}
        self._at = Fraction(0)
        self._before = Fraction(0)
        self._voice = ""
        self._passes = 1
        self._take = {
            "note": self._note,
            "backup": self._backup,
            "forward": self._forward,
            "attributes": self._attributes,
        }

    def walk(self, part: XmlPart) -> list[XmlBar]:
        """Every measure of a part."""
        return [self._measure(measure, label) for measure, label in zip(part.measures, part.labels, strict=True)]

    def _measure(self, measure: Node, label: Node) -> XmlBar:
        bar = XmlBar(label)
        self._at = self._before = Fraction(0)
        self._voice, self._passes = "", 1
        timed = {"direction": bar.directions, "sound": bar.directions, "harmony": bar.harmonies}
        for node in measure.children:
            tag = node.tag
            take = self._take.get(tag)
            if take is not None:
                take(bar, node)
            elif tag in timed:
                offset = quarters(node.word("offset"), self._divisions) or Fraction(0)
                timed[tag].append((max(self._at + offset, Fraction(0)), node))
            elif tag == "print":
                bar.begins = read_break(node)
            elif tag == "barline":
                bar.barlines.append(node)
            else:
                self._report.leave_out(tag, node.line)
            bar.length = max(bar.length, self._at)
        bar.transposed = self._transposed_on(FIRST_STAFF)
        return bar

    def _note(self, bar: XmlBar, node: Node) -> None:
        is_grace = node.child("grace") is not None
        is_chord = node.child("chord") is not None
        length = Fraction(0) if is_grace else self._duration(node)
        onset = self._before if is_chord else self._at
        staff = whole(node.word("staff") or "1") or FIRST_STAFF if self._transposed else FIRST_STAFF
        note = self._reader.read(node, onset, length, self._transposed_on(staff))
        self._voice = note.voice = note.voice or self._voice or str(self._passes)
        bar.notes.append(note)
        if not is_chord:
            self._before = self._at
            self._at += length

    def _transposed_on(self, staff: int) -> int:
        """Semitones from what is written on a staff to what sounds."""
        return self._transposed.get(staff, self._transposed.get(ALL_STAVES, 0))

    def _duration(self, node: Node) -> Fraction:
        text = node.word("duration")
        length = quarters(text, self._divisions)
        if length is None or length < 0:
            self._report.changed("invalid note duration ignored: not a number", node.line)
            return Fraction(0)
        return length

    def _backup(self, _bar: XmlBar, node: Node) -> None:
        """A step back: notes behind it that name no voice are of another one than those before it."""
        self._at -= self._duration(node)
        if self._at < 0:
            self._report.changed("a step back past the start of the measure stops there", node.line)
            self._at = Fraction(0)
        self._before = self._at
        self._voice, self._passes = "", self._passes + 1

    def _forward(self, _bar: XmlBar, node: Node) -> None:
        self._at += self._duration(node)
        self._before = self._at

    def _attributes(self, bar: XmlBar, node: Node) -> None:
        for child in node.children:
            if child.tag == "divisions":
                divisions = number(child.text.strip())
                if divisions is not None and divisions > 0:
                    self._divisions = divisions
                else:
                    self._report.left_out("invalid divisions ignored: not a positive number", child.line)
            elif child.tag == "transpose":
                self._transpose(child)
            else:
                bar.signs.append((self._at, child))

    def _transpose(self, node: Node) -> None:
        """What is written sounds so many semitones away; doubling in octaves is left to the player."""
        chromatic = number(node.word("chromatic") or "0") or Fraction(0)
        octaves = whole(node.word("octave-change") or "0") or 0
        self._transposed[whole(node.get("number") or "0") or ALL_STAVES] = round(chromatic) + 12 * octaves


def notes_of(bars: Iterable[XmlBar]) -> Iterable[WrittenNote]:
    """Every note with a pitch."""
    return (note for bar in bars for note in bar.notes if note.pitch is not None)
