"""Writing MusicXML 4.0: a score as one part, with what no element holds in the remarks."""

from __future__ import annotations

from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING

from tabterm import collector, printable
from tabterm.errors import FormatError
from tabterm.formats import Writing
from tabterm.formats.musicxml import header
from tabterm.formats.musicxml.barlines import write_left, write_right
from tabterm.formats.musicxml.directions import write_break, write_marks, write_tempo
from tabterm.formats.musicxml.grouping import spans_of
from tabterm.formats.musicxml.report import XmlReporter
from tabterm.formats.musicxml.signatures import HIGHEST_OCTAVE, Accidentals, spelled, write_key, write_metre
from tabterm.formats.musicxml.staff import Setting, Staff, StaffWriter
from tabterm.formats.musicxml.tree import Node, serialise
from tabterm.formats.musicxml.tuning import SOUNDS
from tabterm.instrument import PRESETS
from tabterm.score.key import C_MAJOR
from tabterm.score.kinds import ChordNames
from tabterm.score.place import display_number, lead_in

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.score.model import Measure, Score

NOTES, TAB, BOTH = "notes", "tab", "both"
VIEWS = {
    NOTES: (Staff(0, 1, is_notation=True, has_strings=True, has_marks=True),),
    TAB: (Staff(0, 1, is_notation=False, has_strings=True, has_marks=True),),
    BOTH: (
        Staff(1, 1, is_notation=True, has_strings=False, has_marks=True),
        Staff(2, 5, is_notation=False, has_strings=True, has_marks=False),
    ),
}
"""What can be shown: notation with string and fret, tablature alone, or notation over tablature.

The first is never played twice: some programs play both staves of a part.
"""

VERSION = "4.0"
DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
MOST_DIVISIONS = 16383
"""Of a quarter for the whole score, for the sake of programs that count time as MIDI files do (MusicXML 4.0,
`divisions`); where tuplets need more, each measure has its own."""

CLEFS = ((55, "G", 2, 0), (43, "G", 2, -1), (0, "F", 4, 0))
"""Lowest open course from which a clef serves: sign, line, octaves."""


def write(score: Score, *, view: str = NOTES) -> Writing:
    """A score as the bytes of a MusicXML file; equal scores give equal bytes.

    Args:
        score: The score.
        view: `notes` for notation with string and fret, `tab` for tablature alone, `both` for two staves.

    Raises:
        FormatError: No such view.
    """
    if view not in VIEWS:
        raise FormatError(f"no view '{view}'", hint=f"one of: {', '.join(VIEWS)}")
    report = XmlReporter()
    with collector.at_rest():
        text = serialise(_document(score, VIEWS[view], report), DOCTYPE)
    if any(measure.source for measure in score.measures):
        report.left_out("the original line is left out")
    if any(measure.heard_chords for measure in score.measures):
        report.left_out("proposed chords are left out")
    legal = printable.xml(text)
    if legal != text:
        report.left_out("control characters in words are left out: XML does not allow them")
    return Writing(legal.encode(), report.gathered())


def _document(score: Score, staves: tuple[Staff, ...], report: XmlReporter) -> Node:
    root = Node("score-partwise", {"version": VERSION})
    header.write_header(root, score.head)
    _write_part_list(root, score.head.instrument)
    _Writer(score, staves, report).write(root.add("part", id="P1"))
    return root


def _write_part_list(root: Node, instrument: Instrument) -> None:
    part = root.add("part-list").add("score-part", id="P1")
    part.add("part-name", instrument.name)
    named = part.add("score-instrument", id="P1-I1")
    named.add("instrument-name", instrument.name)
    sound = next((sound for sound, word in SOUNDS.items() if PRESETS[word] == instrument), None)
    if sound is not None:
        named.add("instrument-sound", sound)
    played = part.add("midi-instrument", id="P1-I1")
    played.add("midi-channel", 1)
    played.add("midi-program", instrument.program + 1)


class _Writer:
    """Writes the measures of a score into a part."""

    def __init__(self, score: Score, staves: tuple[Staff, ...], report: XmlReporter) -> None:
        self._score = score
        self._staves = staves
        self._report = report
        self._ends = spans_of(score.measures)
        self._accidentals = Accidentals()
        self._needed = [_divisions(measure) for measure in score.measures]
        whole = lcm(*self._needed)
        if whole <= MOST_DIVISIONS:
            self._needed = [whole] * len(score.measures)

    def write(self, part: Node) -> None:
        """Append every measure."""
        for index, measure in enumerate(self._score.measures):
            is_pickup = index == 0 and measure.short
            number = display_number(self._score, index)
            node = part.add("measure", number=number, **({"implicit": "yes"} if is_pickup else {}))
            self._measure(node, index, measure)

    def _measure(self, node: Node, index: int, measure: Measure) -> None:
        score = self._score
        write_break(node, measure)
        self._attributes(node, index, measure)
        write_left(node, score.measures, index)
        if index == 0:
            write_tempo(node, score.tempos[0], score.head.swing)
        elif measure.tempo is not None:
            write_tempo(node, measure.tempo)
        write_marks(node, measure)
        self._accidentals.begin(score.keys[index])
        setting = Setting(
            index,
            self._needed[index],
            score.metres[index],
            score.keys[index],
            lead_in(score, index),
            score.head.instrument,
            self._ends,
            self._accidentals,
            score.chord_names is ChordNames.GERMAN,
        )
        for number, staff in enumerate(self._staves):
            if number:
                node.add("backup").add("duration", measure.length * setting.divisions)
            StaffWriter(node, measure, staff, setting, self._report).write()
        write_right(node, score.measures, index, self._report)

    def _attributes(self, node: Node, index: int, measure: Measure) -> None:
        score = self._score
        attributes = Node("attributes")
        if index == 0 or self._needed[index] != self._needed[index - 1]:
            attributes.add("divisions", self._needed[index])
        if index == 0 or measure.key is not None:
            write_key(attributes, score.keys[index])
        if index == 0 or measure.metre is not None:
            write_metre(attributes, score.metres[index])
        if index == 0:
            self._clefs(attributes)
        if attributes.children:
            node.children.append(attributes)

    def _clefs(self, attributes: Node) -> None:
        """Append the staves, a clef for each, and the tuning of the tablature."""
        if len(self._staves) > 1:
            attributes.add("staves", len(self._staves))
        courses = self._score.head.instrument.courses
        lowest = min(course.pitch for course in courses)
        for staff in self._staves:
            numbered = {"number": staff.number} if staff.number else {}
            clef = attributes.add("clef", **numbered)
            sign, line, octaves = next((each[1:] for each in CLEFS if lowest >= each[0]), CLEFS[-1][1:])
            clef.add("sign", sign if staff.is_notation else "TAB")
            clef.add("line", line if staff.is_notation else (len(courses) + 2) // 2)
            if staff.is_notation and octaves:
                clef.add("clef-octave-change", octaves)
        for staff in self._staves:
            if not staff.is_notation:
                numbered = {"number": staff.number} if staff.number else {}
                details = attributes.add("staff-details", **numbered)
                details.add("staff-lines", len(courses))
                for line, course in enumerate(reversed(courses), 1):
                    step, alter, octave = spelled(course.pitch, C_MAJOR)
                    tuning = details.add("staff-tuning", line=line)
                    tuning.add("tuning-step", step)
                    if alter:
                        tuning.add("tuning-alter", alter)
                    tuning.add("tuning-octave", min(max(octave, 0), HIGHEST_OCTAVE))


def _divisions(measure: Measure) -> int:
    """Parts of a quarter that every moment of a measure lies on."""
    moments = [event.length for event in measure.events] + [mark.offset for mark in measure.chords]
    return lcm(*(moment.denominator for moment in moments), *(Fraction(at).denominator for at in measure.onsets))
